// SPDX-License-Identifier: Apache-2.0
// Why something is done; and where a caution has to be waived, who answers for it, and for what reason.
import type { Signal } from '@preact/signals';
import type { JSX } from 'preact';
import { TextField } from './fields';

interface Props {
  waive: boolean;
  who: Signal<string>;
  reason: Signal<string>;
  why: Signal<string>;
}

export function WhyFields({ waive, who, reason, why }: Props): JSX.Element {
  return (
    <>
      {waive && (
        <>
          <TextField
            title="Who answers for it"
            allowed="needed"
            required
            longest={500}
            value={who.value}
            onInput={(text) => void (who.value = text)}
          />
          <TextField
            title="Reason to go on in spite of it"
            allowed="needed; stands in the journal"
            required
            longest={500}
            value={reason.value}
            onInput={(text) => void (reason.value = text)}
          />
        </>
      )}
      <TextField
        title="Why"
        allowed="stands in the journal"
        longest={500}
        value={why.value}
        onInput={(text) => void (why.value = text)}
      />
    </>
  );
}
