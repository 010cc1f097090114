// SPDX-License-Identifier: Apache-2.0
import assert from 'node:assert/strict';
import { test } from 'node:test';
import type { Cue, Preview, RunningOrder } from '../src/api/types';
import {
  chosenRow,
  followsByItself,
  heldBecause,
  leadsTo,
  rowsOf,
  withoutLock,
} from '../src/model/order';
import { aFinding } from './nodes';

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
  waiting: [],
  at: 'arrival',
  next: 'speeches-1',
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

test('a segment is gone to as its armed cue, else as the next after here, else as the first', () => {
  assert.equal(leadsTo(anOrder(), 'speeches')?.name, 'speeches-1');
  assert.equal(leadsTo(anOrder({ at: 'speeches-1' }), 'speeches')?.name, 'speeches-2');
  assert.equal(leadsTo(anOrder({ at: 'finale' }), 'speeches')?.name, 'speeches-1');
  const armed = { cue: 'speeches-2', who: 'ana', until: '2026-08-14T18:45:00Z' };
  assert.equal(leadsTo(anOrder({ armed }), 'speeches')?.name, 'speeches-2');
  assert.equal(leadsTo(anOrder({ armed }), 'finale')?.name, 'finale');
  assert.equal(leadsTo(anOrder(), 'storm'), undefined);
});

test('what follows by itself is said before anybody goes', () => {
  const title = (name: string): string => name.toUpperCase();
  // 14 August 2026, 21:00 in Helsinki, which is three hours ahead of UTC in summer.
  const now = Date.parse('2026-08-14T18:00:00Z');
  const after = (cue: string, segment: string, when = now): string =>
    followsByItself(anOrder(), { cue, segment }, title, when);
  assert.equal(after('speeches-1', 'speeches'), 'LANTERN-PARADE follows by itself 1 min later.');
  assert.equal(
    after('lantern-parade', 'lantern-parade'),
    'SPEECHES follows by itself at 21:30:00 today (Europe/Helsinki).',
  );
  assert.equal(after('lantern-parade', 'lantern-parade', now + 3_600_000), '');
  assert.equal(after('speeches-2', 'speeches'), '');
  assert.equal(after('finale', 'finale'), '');
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

const aPreview = (otherwise: Partial<Preview> = {}): Preview => ({
  from: 'arrival',
  to: 'speeches',
  from_now: true,
  crew_sheet: { from: 'arrival', to: 'speeches', rows: [] },
  would_be: 'refused',
  obstacles: ['The rack is locked for the show. Unlock it, or arm the cue that leads there.'],
  missing: [],
  nodes: [],
  steps: [],
  at_least_steps: 0,
  clean: true,
  least_bad: true,
  breaches: [],
  before: [],
  end: [],
  lines: [],
  time_ms: 0,
  ...otherwise,
});

test('arming is judged as if there were no show lock, and by everything else', () => {
  const free = withoutLock(aPreview(), 'roll back');
  assert.equal(free.would_be, 'done');
  assert.deepEqual(free.obstacles, []);
  assert.equal(
    withoutLock(aPreview({ end: [aFinding('caution')] }), 'roll back').would_be,
    'needs-waiver',
  );
  const lock = { ...aFinding('refuse'), rule: 'show-locked' as const };
  assert.equal(withoutLock(aPreview({ end: [lock] }), 'roll back').would_be, 'done');
  assert.equal(
    withoutLock(aPreview({ end: [lock, aFinding('refuse')] }), 'roll back').would_be,
    'refused',
  );
  const unlocked = aPreview({ obstacles: ['The rules refuse where it would end.'] });
  assert.equal(withoutLock(unlocked, 'roll back'), unlocked);
});

test('a node that does not answer is in the way of all or none, not of going on', () => {
  const [lock] = aPreview().obstacles;
  const settings = { gain_db: 0, filter: 'slide-40', power: true, label: '' };
  const silent = aPreview({
    missing: ['bow'],
    nodes: [
      {
        node: 'bow',
        line: 'quay-net',
        before: settings,
        target: settings,
        answers: false,
        left_out: false,
        supplied: true,
      },
    ],
    obstacles: [lock!, 'bow does not answer.'],
  });
  assert.equal(withoutLock(silent, 'roll back').would_be, 'unreachable');
  assert.equal(withoutLock(silent, 'go on').would_be, 'done');
  // One that is left out is in nobody's way.
  const leftOut = { ...silent, missing: [], obstacles: [lock!] };
  assert.equal(withoutLock(leftOut, 'roll back').would_be, 'done');
});
