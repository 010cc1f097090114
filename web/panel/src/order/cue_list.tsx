// SPDX-License-Identifier: Apache-2.0
// The running order: where the rack is, what is next, and what triggers each.
import type { JSX } from 'preact';
import type { RunningOrder } from '../api/types';
import { titleOf } from '../feed/show';
import { state } from '../feed/store';
import { goingTo, heldBecause, type Row } from '../model/order';
import { isReady, triggerWords } from '../model/switching';
import { Left } from '../ui/left';
import { Shape, Tag } from '../ui/shape';

interface RowProps {
  order: RunningOrder;
  row: Row;
}

// What it waits for.
function Due({ order, row: { cue } }: RowProps): JSX.Element | null {
  const because = cue ? heldBecause(cue, order) : '';
  if (!cue || cue.name !== order.next) return null;
  return (
    <>
      {because && (
        <span class="due">
          <Shape level="caution" /> held until somebody goes by hand: {because}
        </span>
      )}
      {!because && order.due_at && (
        <span class="due">
          due {order.due_local?.slice(11) ?? ''} in <Left until={order.due_at} />
        </span>
      )}
      {order.next_held_by_lock && (
        <span class="due">
          <Shape level="caution" /> held by the lock unless armed
        </span>
      )}
    </>
  );
}

function Marks({ order, row: { cue, segment }, here }: RowProps & { here: boolean }): JSX.Element {
  const waits = order.waiting.includes(segment) && goingTo(order, segment)?.cue === cue?.name;
  const armed = cue && order.armed?.cue === cue.name ? order.armed : null;
  return (
    <span class="cue-marks">
      {here && (
        <span class="mark">{segment === state.value.rack?.segment ? 'here' : 'was here'}</span>
      )}
      {cue && cue.name === order.next && <span class="mark">next</span>}
      {waits && <span class="mark">waits its turn</span>}
      {armed && (
        <Tag
          level={isReady(armed) ? 'moving' : 'fault'}
          word={isReady(armed) ? 'armed' : 'armed, would not go'}
        />
      )}
    </span>
  );
}

interface Props {
  order: RunningOrder;
  rows: readonly Row[];
  // By its key.
  chosen: string;
  onChoose: (key: string) => void;
}

export function CueList({ order, rows, chosen, onChoose }: Props): JSX.Element {
  return (
    <ol class="cues">
      {rows.map((row, i) => {
        const { key, cue, segment } = row;
        const here = cue ? cue.name === order.at : segment === state.value.rack?.segment;
        const next = cue !== undefined && cue.name === order.next;
        return (
          <li key={key} class={here ? 'here' : next ? 'next' : ''}>
            <button
              type="button"
              aria-pressed={key === chosen}
              aria-current={cue && here ? 'step' : undefined}
              onClick={() => onChoose(key)}
            >
              <span class="ordinal">{cue ? i + 1 : '–'}</span>
              <span class="cue-title">
                <b>{titleOf(segment)}</b>
                <span class="quiet">
                  {cue
                    ? `${cue.name} ${triggerWords(cue)}`
                    : `${segment}, not in the running order`}
                </span>
                <Due order={order} row={row} />
              </span>
              <Marks order={order} row={row} here={here} />
            </button>
          </li>
        );
      })}
    </ol>
  );
}
