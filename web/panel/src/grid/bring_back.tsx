// SPDX-License-Identifier: Apache-2.0
// Every node that shows other settings than wanted, brought back in one act; under the show lock too.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { get, post } from '../api/client';
import type { Preview } from '../api/types';
import { state } from '../feed/store';
import { plural } from '../model/format';
import { differencesInWords } from '../model/any_settings';
import { outlookOf } from '../model/switching';
import { Button, useAct } from '../ui/act';
import { ActForm } from '../ui/act_form';
import { Dialog } from '../ui/dialog';
import { FindingList, RefusalText, Said, VerdictWord } from '../ui/findings';
import { useAnswer } from '../ui/use_answer';
import { useReasons, WhyFields } from '../ui/why_fields';

function Ahead({ preview }: { preview: Preview }): JSX.Element {
  const { level, word } = outlookOf(preview);
  return (
    <>
      <VerdictWord level={level} word={word}>
        {plural(preview.nodes.length, 'node')}
      </VerdictWord>
      <ul class="moves">
        {preview.nodes.map(({ node, before, target }) => (
          <li key={node}>
            <b>{node}</b>
            <span>{differencesInWords(before, target) || 'told once more'}</span>
          </li>
        ))}
      </ul>
      <FindingList findings={[...preview.breaches, ...preview.end]} notes={false} />
    </>
  );
}

function BringBackDialog({ onClose }: { onClose: () => void }): JSX.Element {
  const acting = useAct();
  const reasons = useReasons();
  // Of those that did not come back; it is read before the dialog goes.
  const left = useSignal('');
  const { rack, nodes } = state.value;
  const where = [...nodes.values()].map(({ agreement, link }) => [agreement, link]);
  const { answer, refusal } = useAnswer(JSON.stringify([rack?.revision, where]), (signal) =>
    get('/rack/reapply', {}, { signal }),
  );
  const waive = answer?.would_be === 'needs-waiver' || acting.refusal?.outcome === 'needs-waiver';
  const moved = answer?.nodes.map(({ node }) => node) ?? [];
  const run = async (): Promise<string> => {
    const body = { nodes: moved, ...reasons.sent(waive) };
    const { detail } = await post('/rack/reapply', {}, body);
    left.value = detail ?? '';
    return detail || 'They have again what is wanted.';
  };
  return (
    <Dialog title="Bring back what is wanted" open onClose={onClose}>
      {!answer && !refusal && <p class="quiet">Finding a way …</p>}
      <RefusalText refusal={refusal} />
      {answer && <Ahead preview={answer} />}
      <p>Nodes that do not answer stay as they are. The show lock does not hold this.</p>
      <ActForm
        act="POST /rack/reapply"
        does="Bring them back"
        leaves="Do not"
        acting={acting}
        ready={moved.length > 0 && (!waive || reasons.signed)}
        run={run}
        onClose={onClose}
        onDone={() => !left.value && onClose()}
        note={<Said text={left.value} />}
      >
        <WhyFields reasons={reasons} waive={waive} />
      </ActForm>
    </Dialog>
  );
}

export function BringBack(): JSX.Element | null {
  const open = useSignal(false);
  const drifted = [...state.value.nodes.values()].filter(
    ({ agreement, link }) => agreement === 'drifted' && link === 'answering',
  ).length;
  if (drifted === 0 && !open.value) return null;
  return (
    <>
      <Button act="POST /rack/reapply" onPress={() => void (open.value = true)}>
        Bring back {plural(drifted, 'node')} …
      </Button>
      {open.value && <BringBackDialog onClose={() => void (open.value = false)} />}
    </>
  );
}
