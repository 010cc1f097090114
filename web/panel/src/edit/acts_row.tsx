// SPDX-License-Identifier: Apache-2.0
// Blink the lamp, and keep the settings across a loss of power.
import type { JSX } from 'preact';
import { may } from '../session/session';
import { ActButton, useAct } from '../ui/act';
import { RefusalText, Said } from '../ui/findings';
import type { Subject } from './subject';
import { isTheirs } from './use_editing';

export function ActsRow({ of }: { of: Subject }): JSX.Element | null {
  const locating = useAct();
  const storing = useAct();
  const { acts, blinks } = of;
  if (!may(acts.locate)) return null;
  const theirs = isTheirs(of);
  return (
    <div class="acts">
      <p class="buttons">
        <ActButton
          act={acts.locate}
          disabled={theirs}
          acting={locating}
          run={async () => {
            await of.locate(blinks ? 0 : 30);
            return blinks ? 'Its lamp blinks no more.' : 'Its lamp blinks for half a minute.';
          }}
        >
          {blinks ? 'Stop blinking' : 'Blink its lamp'}
        </ActButton>
        <ActButton
          act={acts.store}
          disabled={theirs}
          acting={storing}
          run={async () => {
            await of.store();
            return 'It keeps its present settings across a loss of power.';
          }}
        >
          Keep settings across a loss of power
        </ActButton>
      </p>
      {theirs && <p class="quiet">Another controller has it: nothing is sent there.</p>}
      <Said text={locating.done || storing.done} />
      <RefusalText refusal={locating.refusal ?? storing.refusal} />
    </div>
  );
}
