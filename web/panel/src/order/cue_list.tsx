// SPDX-License-Identifier: Apache-2.0
// The running order: where the rack is, what is next, and what triggers each.
import type { JSX } from 'preact';
import { titleOf } from '../feed/show';
import { daemonClock, tick } from '../feed/store';
import type { RunningOrder, Switch } from '../api/types';
import { countdown } from '../model/format';
import { isHeld, leadsTo, type Row } from '../model/order';
import { isReady, triggerWords } from '../model/switching';
import { Shape, Tag } from '../ui/shape';

interface Props {
  order: RunningOrder;
  segment: string;
  rows: readonly Row[];
  chosen: string;
  switching: Switch | null;
  onChoose: (key: string) => void;
}

function Due({ at, local }: { at: string; local: string | undefined }): JSX.Element {
  void tick.value;
  return (
    <span class="due">
      due {local?.slice(11) ?? ''} in{' '}
      <span class="steady">{countdown(Date.parse(at) - daemonClock())}</span>
    </span>
  );
}

export function CueList({ order, segment, rows, chosen, switching, onChoose }: Props): JSX.Element {
  return (
    <ol class="cues">
      {rows.map(({ key, cue, segment: to }, i) => {
        const here = cue ? cue.name === order.at : to === segment;
        const next = cue !== undefined && cue.name === order.next;
        const held = cue !== undefined && isHeld(cue, order, switching);
        const waits = order.waiting.includes(to) && leadsTo(order, to)?.name === cue?.name;
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
                <b>{titleOf(to)}</b>
                <span class="quiet">
                  {cue ? `${cue.name} ${triggerWords(cue)}` : `${to}, not in the running order`}
                </span>
                {held ? (
                  <span class="due">
                    <Shape level="caution" /> held until somebody goes by hand: the last switch is
                    stuck
                  </span>
                ) : (
                  next && order.due_at && <Due at={order.due_at} local={order.due_local} />
                )}
              </span>
              <span class="cue-marks">
                {here && <span class="mark">{to === segment ? 'here' : 'was here'}</span>}
                {next && <span class="mark">next</span>}
                {waits && <span class="mark">waits its turn</span>}
                {cue && order.armed?.cue === cue.name && (
                  <Tag
                    level={isReady(order.armed) ? 'moving' : 'fault'}
                    word={isReady(order.armed) ? 'armed' : 'armed, would not go'}
                  />
                )}
              </span>
            </button>
          </li>
        );
      })}
    </ol>
  );
}
