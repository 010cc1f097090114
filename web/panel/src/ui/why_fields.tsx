// SPDX-License-Identifier: Apache-2.0
// Why something is done; and where a caution has to be waived, who answers for it, and for what reason.
import { useSignal, type Signal } from '@preact/signals';
import type { JSX } from 'preact';
import type { Waiver } from '../api/types';
import { signedInAs } from '../session/session';
import { TextField } from './fields';

export interface Reasons {
  why: Signal<string>;
  who: Signal<string>;
  reason: Signal<string>;
  // Somebody answers, and says why.
  signed: boolean;
  // As the daemon takes them; what was not written is absent.
  sent: (waive: boolean) => { why?: string; waiver?: Waiver };
}

export function useReasons(): Reasons {
  const why = useSignal('');
  const who = useSignal(signedInAs.value);
  const reason = useSignal('');
  return {
    why,
    who,
    reason,
    signed: who.value.trim() !== '' && reason.value.trim() !== '',
    sent: (waive) => ({
      ...(why.value.trim() ? { why: why.value.trim() } : {}),
      ...(waive ? { waiver: { who: who.value.trim(), reason: reason.value.trim() } } : {}),
    }),
  };
}

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

export function WaiverFields({ who, reason }: Pick<Reasons, 'who' | 'reason'>): JSX.Element {
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

interface Props {
  reasons: Reasons;
  waive: boolean;
  whyNeeded?: boolean;
}

export function WhyFields({ reasons, waive, whyNeeded = false }: Props): JSX.Element {
  return (
    <>
      {waive && <WaiverFields {...reasons} />}
      <WhyField why={reasons.why} needed={whyNeeded} />
    </>
  );
}
