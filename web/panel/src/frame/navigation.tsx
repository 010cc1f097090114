// SPDX-License-Identifier: Apache-2.0
import type { JSX } from 'preact';
import { route, toView, type View } from '../browser/route';
import { state } from '../feed/store';
import { count, isCalling } from '../model/alarms';
import { needsSomebody } from '../model/places';
import { levelOf, type Conditioned } from '../model/condition';
import { Picture } from '../ui/shape';
import { offered } from './offered';

interface Call {
  number: number;
  words: string;
  grave: boolean;
}

function callOf(all: Iterable<Conditioned>): Call | null {
  const needing = [...all].filter(needsSomebody);
  if (needing.length === 0) return null;
  return {
    number: needing.length,
    words: `${needing.length} ${needing.length === 1 ? 'needs' : 'need'} you`,
    grave: needing.some((one) => levelOf(one) === 'fault'),
  };
}

// What calls from a view that is not in sight.
function calling(view: View): Call | null {
  if (view === 'alarms') {
    const { alarms } = state.value;
    const { unacknowledged } = count(alarms);
    const grave = alarms.some(isCalling);
    return unacknowledged
      ? { number: unacknowledged, words: `${unacknowledged} not acknowledged`, grave }
      : null;
  }
  if (view === 'grid') return callOf(state.value.nodes.values());
  if (view === 'routes') return callOf(state.value.matrices.values());
  return null;
}

export function Navigation(): JSX.Element {
  return (
    <nav class="navigation" aria-label="Views">
      <ul>
        {offered.value.map(({ view, title }, i) => {
          const call = calling(view);
          return (
            <li key={view}>
              <a
                href={toView(view)}
                aria-current={route.value.view === view ? 'page' : undefined}
                aria-keyshortcuts={String(i + 1)}
              >
                <Picture of={view} />
                <span>{title}</span>
                {call && (
                  <span class={call.grave ? 'call grave' : 'call'}>
                    <span aria-hidden="true">{call.number}</span>
                    <span class="unseen">{call.words}</span>
                  </span>
                )}
              </a>
            </li>
          );
        })}
      </ul>
    </nav>
  );
}
