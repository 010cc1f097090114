// SPDX-License-Identifier: Apache-2.0
import assert from 'node:assert/strict';
import { test } from 'node:test';
import type { Cue, Preview, RunningOrder } from '../src/api/types';
import { chosenRow, followsWords, heldBecause, rowsOf } from '../src/model/order';

const aCue = (name: string, segment: string, trigger: Cue['trigger'] = { by: 'hand' }): Cue => ({
  name,
  segment,
  trigger,
});
// Speeches twice: before the parade and after it.
const cues = [
  aCue('arrival', 'arrival'),
  aCue('speeches-1', 'speeches'),
  aCue('lantern-parade', 'lantern-parade', { by: 'duration', after: 'speeches', seconds: 60 }),
  aCue('speeches-2', 'speeches', { by: 'clock', at: '21:30:00' }),
  aCue('finale', 'finale'),
];
const anOrder = (otherwise: Partial<RunningOrder> = {}): RunningOrder => ({
  cues,
  zone: 'Europe/Helsinki',
  second_trigger: 'queue',
  after_restart: 'wait',
  arming_s: 900,
  may_arm: true,
  going_to: [],
  waiting: [],
  at: 'arrival',
  next: 'speeches-1',
  next_held_by_lock: false,
  ...otherwise,
});
const segments = ['arrival', 'speeches', 'lantern-parade', 'finale', 'storm'].map((name) => ({
  name,
}));

test('two cues that lead to one segment are two rows, each chosen by its own name', () => {
  const rows = rowsOf(cues, segments);
  assert.deepEqual(
    rows.map(({ cue, segment }) => cue?.name ?? segment),
    ['arrival', 'speeches-1', 'lantern-parade', 'speeches-2', 'finale', 'storm'],
  );
  assert.equal(new Set(rows.map(({ key }) => key)).size, rows.length);
  assert.equal(chosenRow(rows, rows[3]!.key, 'speeches-1')?.cue?.name, 'speeches-2');
  assert.equal(chosenRow(rows, null, 'speeches-2')?.cue?.name, 'speeches-2');
  assert.equal(chosenRow(rows, 'cue gone', undefined)?.cue?.name, 'arrival');
});

test('of the cues the next one is held, and says why', () => {
  const because = 'the last switch is stuck';
  const order = anOrder({ at: 'speeches-1', next: 'lantern-parade', held_because: because });
  assert.deepEqual(
    cues.map((cue) => heldBecause(cue, order)),
    ['', '', because, '', ''],
  );
  assert.equal(heldBecause(cues[2]!, anOrder({ next: 'lantern-parade' })), '');
});

test('what follows by itself is said with when, and with what holds it', () => {
  const say = (follows?: Preview['follows'], to = 'speeches'): string =>
    followsWords({ follows, to } as Preview, (name) => name.toUpperCase(), 'Europe/Helsinki');
  const parade = { cue: 'parade', segment: 'parade', held_by_lock: false };
  const later = { by: 'duration' as const, after: 'speeches', seconds: 60 };
  assert.equal(say({ ...parade, trigger: later }), 'PARADE follows by itself 1 min later.');
  assert.equal(
    say({ ...parade, trigger: later, held_by_lock: true }, 'finale'),
    'PARADE follows by itself 1 min after SPEECHES, if it is armed by then.',
  );
  const clock = { by: 'clock' as const, at: '21:30:00' };
  assert.equal(
    say({ ...parade, trigger: clock, due_local: '2026-08-14 21:30:00' }),
    'PARADE follows by itself at 2026-08-14 21:30:00 (Europe/Helsinki).',
  );
  assert.equal(say(), '');
});
