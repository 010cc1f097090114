// SPDX-License-Identifier: Apache-2.0
// Arming and going, asked once more: what it is about, who answers for a caution, and why.
import type { JSX } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import { post } from '../api/client';
import type { Preview } from '../api/types';
import { titleOf } from '../feed/show';
import { state } from '../feed/store';
import { plural } from '../model/format';
import { followsWords, goingTo } from '../model/order';
import { outlookOf, secondsInWords } from '../model/switching';
import { useAct } from '../ui/act';
import { ActForm } from '../ui/act_form';
import { Dialog } from '../ui/dialog';
import { FindingList, VerdictWord } from '../ui/findings';
import { useReasons, WhyFields } from '../ui/why_fields';
import { NotTickedOf } from './crew_part';
import type { Asked } from './trigger';

const ifANodeFails = {
  'roll back': 'All nodes move, or none.',
  'go on': 'If a node fails it goes on without it.',
} as const;

function Ahead({ preview }: { preview: Preview }): JSX.Element {
  const { level, word } = outlookOf(preview);
  return (
    <>
      <VerdictWord level={level} word={word}>
        {plural(preview.nodes.length, 'node')}, {plural(preview.steps.length, 'step')}
      </VerdictWord>
      <FindingList findings={[...preview.breaches, ...preview.end]} notes={false} />
      <NotTickedOf sheet={preview.crew_sheet} />
    </>
  );
}

interface Props {
  asked: Asked;
  preview: Preview | null;
  onClose: () => void;
  onDone: () => void;
}

function WhatHappens({ asked, preview }: Pick<Props, 'asked' | 'preview'>): JSX.Element {
  const { segment, cue } = asked.row;
  const { order } = state.value;
  if (asked.what === 'arm')
    return (
      <p>
        Its trigger goes through the lock, once, within {secondsInWords(order?.arming_s ?? 0)}.
        Everybody sees that it is armed.
      </p>
    );
  const taken = order ? goingTo(order, segment)?.cue : cue?.name;
  const follows = preview ? followsWords(preview, titleOf, order?.zone ?? '') : '';
  return (
    <>
      <p>
        {preview && ifANodeFails[preview.if_a_node_fails]} It can be turned back with Abort while it
        is under way.
      </p>
      {cue !== undefined && taken !== cue.name && (
        <p>
          In the running order this takes the cue <b>{taken}</b>: the next one to this segment.
        </p>
      )}
      {follows && (
        <p>
          <b>{follows}</b>
        </p>
      )}
    </>
  );
}

export function TriggerDialog({ asked, preview, onClose, onDone }: Props): JSX.Element {
  const { what, row, without } = asked;
  const title = titleOf(row.segment);
  const acting = useAct();
  const reasons = useReasons();
  const button = useRef<HTMLButtonElement>(null);
  useEffect(() => button.current?.focus(), []);
  const fewer = without.length > 0;
  const waive =
    fewer || preview?.would_be === 'needs-waiver' || acting.refusal?.outcome === 'needs-waiver';
  const run = async (): Promise<string> => {
    const words = { ...(fewer ? { without: [...without] } : {}), ...reasons.sent(waive) };
    if (what === 'arm') {
      await post('/running-order/arm', {}, { ...(row.cue ? { cue: row.cue.name } : {}), ...words });
      return `Armed: ${title}, for ${secondsInWords(state.value.order?.arming_s ?? 0)}.`;
    }
    // Answered when the intent is durable; the view follows the rest as it happens.
    const headers = { Prefer: 'respond-async' };
    await post('/switch', {}, { segment: row.segment, ...words }, { headers });
    return `Going to ${title}.`;
  };
  return (
    <Dialog title={what === 'arm' ? `Arm ${title}?` : `Go to ${title} now?`} open onClose={onClose}>
      {preview && <Ahead preview={preview} />}
      {fewer && (
        <p>
          Without <b>{without.join(', ')}</b>, as {without.length === 1 ? 'it is' : 'they are'}. Say
          why, and who answers for it.
        </p>
      )}
      <WhatHappens asked={asked} preview={preview} />
      <p class="care">
        A segment may put other transmitters on the air. Transmit only where and how your licence
        allows, and keep people out of the near field of transmitting antennas; local codes come
        first.
      </p>
      <ActForm
        act={what === 'arm' ? 'POST /running-order/arm' : 'POST /switch'}
        does={what === 'arm' ? 'Arm it' : 'Go now'}
        leaves="Do not"
        acting={acting}
        ready={(!waive || reasons.signed) && (!fewer || reasons.why.value.trim() !== '')}
        run={run}
        onClose={onClose}
        onDone={onDone}
        buttonRef={button}
      >
        <WhyFields reasons={reasons} waive={waive} whyNeeded={fewer} />
      </ActForm>
    </Dialog>
  );
}
