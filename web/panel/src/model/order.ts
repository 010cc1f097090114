// SPDX-License-Identifier: Apache-2.0
// The rows of the running order, what going to one leads to, and what then follows by itself.
import type { Cue, Finding, Preview, RunningOrder, Segment } from '../api/types';
import { clockIn, dayOf, timeOfDay } from './format';
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

// The cue that the daemon takes when somebody goes to this segment: the armed one if it leads
// there, else the first after where the rack is, else the first of all.
export function leadsTo(order: RunningOrder, segment: string): Cue | undefined {
  const armed = order.cues.find(({ name }) => name === order.armed?.cue);
  if (armed?.segment === segment) return armed;
  const first = order.cues.findIndex(({ name }) => name === order.at) + 1;
  return [...order.cues.slice(first), ...order.cues.slice(0, first)].find(
    (cue) => cue.segment === segment,
  );
}

// Why this cue waits for a hand although it would trigger itself; empty: it does not.
export const heldBecause = (cue: Cue, order: RunningOrder): string =>
  cue.name === order.next ? (order.held_because ?? '') : '';

// What follows by itself once the rack is at this cue (undefined: a segment that is in no cue, and
// the place in the order stays); empty if nothing does. `now` in ms of the daemon's clock.
export function followsByItself(
  order: RunningOrder,
  gone: { cue: string | undefined; segment: string },
  titleOf: (segment: string) => string,
  now: number,
): string {
  const at = gone.cue ?? order.at;
  const next = order.cues[order.cues.findIndex(({ name }) => name === at) + 1];
  if (!next) return '';
  const follows = `${titleOf(next.segment)} follows by itself`;
  const { trigger } = next;
  if (trigger.by === 'duration') {
    const later = secondsInWords(trigger.seconds ?? 0);
    return trigger.after === gone.segment
      ? `${follows} ${later} later.`
      : `${follows} ${later} after ${titleOf(trigger.after ?? '')}.`;
  }
  if (trigger.by === 'clock') {
    const clock = clockIn(order.zone);
    const today = trigger.date === undefined || trigger.date === dayOf(now, clock);
    return today && (trigger.at ?? '') > timeOfDay(now, clock)
      ? `${follows} at ${trigger.at} today (${order.zone}).`
      : '';
  }
  return '';
}

const lockSentence = /^The rack is locked/;

// The same preview as it would be without the show lock: what arming is for goes through it.
export function withoutLock(preview: Preview, ifANodeFails: Segment['if_a_node_fails']): Preview {
  if (preview.would_be !== 'refused') return preview;
  const free = (findings: Finding[]): Finding[] =>
    findings.filter(({ rule }) => rule !== 'show-locked');
  const obstacles = preview.obstacles.filter((sentence) => !lockSentence.test(sentence));
  const breaches = free(preview.breaches);
  const end = free(preview.end);
  if (
    obstacles.length === preview.obstacles.length &&
    breaches.length === preview.breaches.length &&
    end.length === preview.end.length
  )
    return preview;
  const findings = [...breaches, ...end];
  const missing = preview.missing.length > 0;
  // With "go on" the sentence about nodes that do not answer stands in nobody's way.
  const inTheWay = obstacles.length - (missing && ifANodeFails === 'go on' ? 1 : 0);
  const refuses = findings.some(({ severity }) => severity === 'refuse');
  const cautions = findings.some(({ severity }) => severity === 'caution');
  const would_be =
    missing && ifANodeFails === 'roll back'
      ? 'unreachable'
      : refuses || inTheWay > 0
        ? 'refused'
        : cautions
          ? 'needs-waiver'
          : 'done';
  return { ...preview, obstacles, breaches, end, would_be };
}
