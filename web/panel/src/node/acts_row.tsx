// SPDX-License-Identifier: Apache-2.0
// Blink the lamp, and keep the settings across a loss of power.
import type { JSX } from 'preact';
import { post } from '../api/client';
import { isTheirs } from '../edit/use_editing';
import type { HeardNode } from '../feed/state';
import { may } from '../session/session';
import { ActButton, useAct } from '../ui/act';
import { RefusalText, Said } from '../ui/findings';

export function ActsRow({ node }: { node: HeardNode }): JSX.Element | null {
  const locating = useAct();
  const storing = useAct();
  if (!may('POST /nodes/{node}/locate')) return null;
  const names = { node: node.name };
  const theirs = isTheirs(node);
  const blinks = node.seen?.telemetry.locating === true;
  return (
    <div class="acts">
      <p class="buttons">
        <ActButton
          act="POST /nodes/{node}/locate"
          disabled={theirs}
          acting={locating}
          run={async () => {
            await post('/nodes/{node}/locate', names, { seconds: blinks ? 0 : 30 });
            return blinks ? 'Its lamp blinks no more.' : 'Its lamp blinks for half a minute.';
          }}
        >
          {blinks ? 'Stop blinking' : 'Blink its lamp'}
        </ActButton>
        <ActButton
          act="POST /nodes/{node}/store"
          disabled={theirs}
          acting={storing}
          run={async () => {
            await post('/nodes/{node}/store', names, {});
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
