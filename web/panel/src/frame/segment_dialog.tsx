// SPDX-License-Identifier: Apache-2.0
// Checking against another segment moves no node; that is what a switch does.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { post } from '../api/client';
import { toView } from '../browser/route';
import { titleOf } from '../feed/show';
import { state } from '../feed/store';
import { may } from '../session/session';
import { Button, useAct } from '../ui/act';
import { Dialog } from '../ui/dialog';
import { ChoiceField } from '../ui/fields';
import { RefusalText } from '../ui/findings';
import { WhyField } from '../ui/why_fields';

export function SegmentDialog({ onClose }: { onClose: () => void }): JSX.Element {
  const { rack } = state.value;
  const chosen = useSignal(rack?.segment ?? '');
  const why = useSignal('');
  const acting = useAct();
  const send = async (): Promise<void> => {
    const done = await acting.run(async () => {
      await post(
        '/rack/segment',
        {},
        { segment: chosen.value, ...(why.value.trim() ? { why: why.value.trim() } : {}) },
      );
      return `Checked against ${titleOf(chosen.value)} from now on. No node has moved.`;
    });
    if (done) onClose();
  };
  return (
    <Dialog title="The segment that counts" open onClose={onClose}>
      <p>
        Every setting is checked against the lanes and carriers of this segment. Choosing another
        one here moves no node. To move them all to its settings,{' '}
        <a href={toView('order')} onClick={onClose}>
          go to it in Order
        </a>
        .
      </p>
      {may('POST /rack/segment') ? (
        <form
          onSubmit={(event) => {
            event.preventDefault();
            void send();
          }}
        >
          <ChoiceField
            title="Segment"
            value={chosen.value}
            choices={(rack?.segments ?? []).map(({ name, title }) => ({
              value: name,
              title: `${title} (${name})`,
            }))}
            onChoose={(name) => void (chosen.value = name)}
          />
          <WhyField why={why} />
          <RefusalText refusal={acting.refusal} />
          <p class="buttons">
            <Button
              act="POST /rack/segment"
              kind="main"
              busy={acting.busy}
              disabled={chosen.value === rack?.segment}
              onPress={() => void send()}
            >
              Check against it, move nothing
            </Button>
            <Button onPress={onClose}>Leave it as it is</Button>
          </p>
        </form>
      ) : (
        <p>It is {titleOf(rack?.segment ?? '')}. Choosing another one needs the role operate.</p>
      )}
    </Dialog>
  );
}
