// SPDX-License-Identifier: Apache-2.0
import type { JSX } from 'preact';
import { route, toView, views, type View } from '../browser/route';
import { state } from '../feed/store';
import { count, isCalling } from '../model/alarms';
import { needsSomebody } from '../model/places';
import { levelOf } from '../model/condition';
import { Picture } from '../ui/shape';

// What calls from a view that is not in sight.
function calling(view: View): { number: number; words: string; grave: boolean } | null {
  if (view === 'alarms') {
    const { alarms } = state.value;
    const { unacknowledged } = count(alarms);
    const grave = alarms.some(isCalling);
    return unacknowledged
      ? { number: unacknowledged, words: `${unacknowledged} not acknowledged`, grave }
      : null;
  }
  if (view === 'grid') {
    const needing = [...state.value.nodes.values()].filter(needsSomebody);
    const grave = needing.some((node) => levelOf(node) === 'fault');
    return needing.length > 0
      ? { number: needing.length, words: `${needing.length} need you`, grave }
      : null;
  }
  return null;
}

export function Navigation(): JSX.Element {
  return (
    <nav class="navigation" aria-label="Views">
      <ul>
        {views.map(({ view, title }, i) => {
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
