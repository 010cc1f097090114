// SPDX-License-Identifier: Apache-2.0
// An antenna that hangs: its supply off and on again, from the rack.
import type { JSX } from 'preact';
import type { Matrix, MatrixInput } from '../api/matrix';
import { cyclePower, matrixActs } from '../edit/matrix_acts';
import { may } from '../session/session';
import { ActButton, useAct } from '../ui/act';
import { RefusalText, Said } from '../ui/findings';
import { useReasons, WaiverFields } from '../ui/why_fields';

interface Props {
  matrix: Matrix;
  input: MatrixInput;
}

export function PowerCycle({ matrix, input }: Props): JSX.Element | null {
  const acting = useAct();
  const reasons = useReasons();
  const fed = (matrix.wanted?.supplies_mv?.[input.input] ?? 0) > 0;
  if (!fed || !may(matrixActs.cycle)) return null;
  const what = input.antenna ?? `input ${input.input}`;
  const waive = acting.refusal?.outcome === 'needs-waiver';
  return (
    <div class="power-cycle">
      {waive && (
        <div class="pair">
          <WaiverFields {...reasons} />
        </div>
      )}
      <RefusalText refusal={acting.refusal} />
      <p class="buttons">
        <ActButton
          act={matrixActs.cycle}
          acting={acting}
          disabled={matrix.agreement !== 'agreed' || (waive && !reasons.signed)}
          run={async () => {
            await cyclePower(matrix.name, input.input, reasons.sent(waive && reasons.signed));
            return `${what} was without its supply for a moment, and has it again.`;
          }}
        >
          {waive ? 'Cycle its power, in spite of the caution' : 'Cycle its power'}
        </ActButton>
      </p>
      {acting.busy && <p class="quiet">Off, and on again when it has been off for long enough …</p>}
      <Said text={acting.done} />
    </div>
  );
}
