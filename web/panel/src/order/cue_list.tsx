// SPDX-License-Identifier: Apache-2.0
// The running order: where the rack is, what is next, and what triggers each.
import type { JSX } from 'preact';
import { titleOf } from '../feed/show';
import { daemonClock, tick } from '../feed/store';
import type { RunningOrder } from '../api/types';
import { countdown } from '../model/format';
import { triggerWords } from '../model/switching';
import { Tag } from '../ui/shape';

interface Props {
  order: RunningOrder;
  segment: string;
  // Segments that no cue leads to; they are gone to by name.
  others: readonly { name: string; title: string }[];
  chosen: string;
  onChoose: (segment: string) => void;
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

export function CueList({ order, segment, others, chosen, onChoose }: Props): JSX.Element {
  return (
    <ol class="cues">
      {order.cues.map((cue, i) => {
        const here = cue.name === order.at;
        const next = cue.name === order.next;
        return (
          <li key={cue.name} class={here ? 'here' : next ? 'next' : ''}>
            <button
              type="button"
              aria-pressed={cue.segment === chosen}
              aria-current={here ? 'step' : undefined}
              onClick={() => onChoose(cue.segment)}
            >
              <span class="ordinal">{i + 1}</span>
              <span class="cue-title">
                <b>{titleOf(cue.segment)}</b>
                <span class="quiet">
                  {cue.name} {triggerWords(cue)}
                </span>
                {next && order.due_at && <Due at={order.due_at} local={order.due_local} />}
              </span>
              <span class="cue-marks">
                {here && <span class="mark">{cue.segment === segment ? 'here' : 'was here'}</span>}
                {next && <span class="mark">next</span>}
                {order.waiting.includes(cue.segment) && <span class="mark">waits its turn</span>}
                {order.armed?.cue === cue.name && <Tag level="moving" word="armed" />}
              </span>
            </button>
          </li>
        );
      })}
      {others.map((one) => (
        <li key={one.name} class={one.name === segment ? 'here' : ''}>
          <button
            type="button"
            aria-pressed={one.name === chosen}
            onClick={() => onChoose(one.name)}
          >
            <span class="ordinal">–</span>
            <span class="cue-title">
              <b>{one.title}</b>
              <span class="quiet">{one.name}, not in the running order</span>
            </span>
            <span class="cue-marks">{one.name === segment && <span class="mark">here</span>}</span>
          </button>
        </li>
      ))}
    </ol>
  );
}
