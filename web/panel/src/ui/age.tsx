// SPDX-License-Identifier: Apache-2.0
// How old a reading is. The clock of the page moves it, so that an old value cannot look new.
import type { JSX } from 'preact';
import { state, tick } from '../feed/store';
import { duration } from '../model/format';
import { ageOf, isOld, type Read } from '../model/condition';

const qualities = { good: '', stale: '', simulated: 'simulated, ' } as const;

export function Age({ node }: { node: Read & { heard: number } }): JSX.Element {
  const age = ageOf(node, tick.value);
  if (age === null) return <span class="age old">never read</span>;
  const old = isOld(node, age, state.value.rack?.stale_after_ms ?? 0);
  // Whole seconds in the ordinary case: nothing flickers that is in order.
  return (
    <span class={old ? 'age old' : 'age'}>
      {qualities[node.seen?.quality ?? 'good']}
      {old ? 'old: ' : ''}read{' '}
      {age < 2000 && !old
        ? 'just now'
        : `${duration(Math.floor(age / 1000) * 1000).replace('.0', '')} ago`}
    </span>
  );
}
