// SPDX-License-Identifier: Apache-2.0
// Checking against another segment moves no node; that is what a switch does.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { post } from '../api/client';
import { toView } from '../browser/route';
import { titleOf } from '../feed/show';
import { state } from '../feed/store';
import { may } from '../session/session';
import { useAct } from '../ui/act';
import { ActForm } from '../ui/act_form';
import { Dialog } from '../ui/dialog';
import { ChoiceField } from '../ui/fields';
import { useReasons, WhyField } from '../ui/why_fields';

export function SegmentDialog({ onClose }: { onClose: () => void }): JSX.Element {
  const { rack } = state.value;
  const chosen = useSignal(rack?.segment ?? '');
  const { why, sent } = useReasons();
  const acting = useAct();
  const run = async (): Promise<string> => {
    await post('/rack/segment', {}, { segment: chosen.value, ...sent(false) });
    return `Checked against ${titleOf(chosen.value)} from now on. No node has moved.`;
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
        <ActForm
          act="POST /rack/segment"
          does="Check against it, move nothing"
          leaves="Leave it as it is"
          acting={acting}
          ready={chosen.value !== rack?.segment}
          run={run}
          onClose={onClose}
        >
          <ChoiceField
            title="Segment"
            value={chosen.value}
            choices={(rack?.segments ?? []).map(({ name, title }) => ({
              value: name,
              title: `${title} (${name})`,
            }))}
            onInput={(name) => void (chosen.value = name)}
          />
          <WhyField why={why} />
        </ActForm>
      ) : (
        <p>It is {titleOf(rack?.segment ?? '')}. Choosing another one needs the role operate.</p>
      )}
    </Dialog>
  );
}
