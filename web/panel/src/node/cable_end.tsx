// SPDX-License-Identifier: Apache-2.0
// Where the node's cable ends in the rack, and what comes up it from there.
import type { JSX } from 'preact';
import type { FedBy } from '../api/matrix';
import { toInput } from '../browser/route';
import { state } from '../feed/store';
import { inForce, volts } from '../model/matrix';

// Nothing where nobody knows, or the unit feeds nothing.
function supplyWords({ matrix, input }: FedBy): string {
  const unit = state.value.matrices.get(matrix);
  const mv = unit && inForce(unit)?.supplies_mv?.[input];
  if (mv === undefined) return '';
  return mv === 0 ? ', its supply is off' : `, which feeds it ${volts(mv)}`;
}

export const CableEnd = ({ at }: { at: FedBy }): JSX.Element => (
  <p class="quiet">
    cable ends at{' '}
    <a href={toInput(at)}>
      input {at.input} of {at.matrix}
    </a>
    {supplyWords(at)}
  </p>
);
