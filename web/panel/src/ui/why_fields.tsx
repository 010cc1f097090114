// SPDX-License-Identifier: Apache-2.0
// Why something is done; and where a caution has to be waived, who answers for it, and for what reason.
import type { Signal } from '@preact/signals';
import type { JSX } from 'preact';
import { TextField } from './fields';

interface Text {
  title: string;
  allowed: string;
  text: Signal<string>;
  needed?: boolean;
}

function JournalField({ title, allowed, text, needed = false }: Text): JSX.Element {
  return (
    <TextField
      title={title}
      allowed={allowed}
      required={needed}
      longest={500}
      value={text.value}
      onInput={(value) => void (text.value = value)}
    />
  );
}

interface Why {
  why: Signal<string>;
  needed?: boolean;
}

export function WhyField({ why, needed = false }: Why): JSX.Element {
  const allowed = needed ? 'needed; stands in the journal' : 'stands in the journal';
  return <JournalField title="Why" allowed={allowed} text={why} needed={needed} />;
}

interface Waiver {
  who: Signal<string>;
  reason: Signal<string>;
}

export function WaiverFields({ who, reason }: Waiver): JSX.Element {
  return (
    <>
      <JournalField title="Who answers for it" allowed="needed" text={who} needed />
      <JournalField
        title="Reason to go on in spite of it"
        allowed="needed; stands in the journal"
        text={reason}
        needed
      />
    </>
  );
}

interface Props extends Waiver {
  waive: boolean;
  why: Signal<string>;
  whyNeeded?: boolean;
}

export function WhyFields({ waive, who, reason, why, whyNeeded = false }: Props): JSX.Element {
  return (
    <>
      {waive && <WaiverFields who={who} reason={reason} />}
      <WhyField why={why} needed={whyNeeded} />
    </>
  );
}
