// SPDX-License-Identifier: Apache-2.0
// The rows of the running order, what going to one leads to, and what then follows by itself.
import type { Cue, Preview, RunningOrder } from '../api/types';
import { secondsInWords } from './switching';

// A row to choose. More than one cue may lead to a segment, so a cue is known by its own name; a
// segment that no cue leads to has no cue.
export interface Row {
  key: string;
  cue?: Cue;
  segment: string;
}

const rowOfCue = (cue: Cue): Row => ({
  key: `cue ${cue.name}`,
  cue,
  segment: cue.segment,
});

export function rowsOf(cues: readonly Cue[], segments: readonly { name: string }[]): Row[] {
  const led = new Set(cues.map(({ segment }) => segment));
  return [
    ...cues.map(rowOfCue),
    ...segments
      .filter(({ name }) => !led.has(name))
      .map(({ name }) => ({ key: `segment ${name}`, segment: name })),
  ];
}

// The one that was picked while it is there; else the next cue; else the first of all.
export const chosenRow = (
  rows: readonly Row[],
  picked: string | null,
  next: string | undefined,
): Row | null =>
  rows.find(({ key }) => key === picked) ??
  rows.find(({ cue }) => cue !== undefined && cue.name === next) ??
  rows[0] ??
  null;

export type Going = RunningOrder['going_to'][number];

// What going by hand to this segment means now.
export const goingTo = (order: RunningOrder, segment: string): Going | undefined =>
  order.going_to.find((going) => going.segment === segment);

// Why this cue waits for a hand although it would trigger itself; empty: it does not.
export const heldBecause = (cue: Cue, order: RunningOrder): string =>
  cue.name === order.next ? (order.held_because ?? '') : '';

// What follows by itself once the switch is done; empty: nothing.
export function followsWords(
  { follows, to }: Preview,
  titleOf: (segment: string) => string,
  zone: string,
): string {
  if (!follows) return '';
  const { trigger, due_local, held_by_lock } = follows;
  const later = secondsInWords(trigger.seconds ?? 0);
  const when = due_local
    ? `at ${due_local} (${zone})`
    : `${later} ${trigger.after === to ? 'later' : `after ${titleOf(trigger.after ?? '')}`}`;
  const only = held_by_lock ? ', if it is armed by then' : '';
  return `${titleOf(follows.segment)} follows by itself ${when}${only}.`;
}
