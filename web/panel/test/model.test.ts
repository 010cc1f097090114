// SPDX-License-Identifier: Apache-2.0
import assert from 'node:assert/strict';
import { test } from 'node:test';
import type { Alarm, SwitchedNode } from '../src/api/types';
import { byState, count, followersOf, newlyCalling, onlyInAlarms } from '../src/model/alarms';
import { pictureOf } from '../src/model/budget';
import { densityFor, groupNodes, matches } from '../src/model/places';
import { differencesInWords } from '../src/model/any_settings';
import { onto, patchOf, snap } from '../src/model/settings';
import { leftSomewhere, triggerWords } from '../src/model/switching';
import { byName, isOld, levelOf } from '../src/model/condition';
import { marginWords } from '../src/node/margin';
import { aCondition, aNode } from './nodes';

test('a margin is told with the one that is wanted, where there is one', () => {
  assert.equal(marginWords(undefined), 'not known');
  assert.equal(marginWords({ margin_wanted_db: 10 }), 'not known');
  assert.equal(marginWords({ margin_db: -2.04 }), '−2.0 dB');
  assert.equal(marginWords({ margin_db: 6.1, margin_wanted_db: 10 }), '+6.1 dB, wanted 10.0 dB');
});

test('a reading is old when the daemon says so, and when nobody renewed it in the time of the rack', () => {
  const stale = aNode('bow');
  stale.seen!.quality = 'stale';
  assert.equal(isOld(aNode('bow'), 400, 5000), false);
  assert.equal(isOld(stale, 400, 5000), true);
  assert.equal(isOld(aNode('bow'), 5001, 5000), true);
  assert.equal(isOld(aNode('bow'), null, 5000), true);
});

test('trouble comes first, worst first; names count as people count', () => {
  const nodes = [
    aNode('bar-10'),
    aNode('bar-2'),
    aNode('bar-3', { conditions: [aCondition('caution', 'drifted')] }),
    aNode('bar-4', { conditions: [aCondition('fault', 'silent'), aCondition('caution', 'drifted')] }),
  ];
  const groups = groupNodes(nodes, 'trouble').map((group) => [
    group.name,
    group.nodes.map(({ name }) => name),
  ]);
  assert.deepEqual(groups, [
    ['Needs you', ['bar-4', 'bar-3']],
    ['As wanted', ['bar-2', 'bar-10']],
  ]);
  assert.ok(byName({ name: 'bar-2' }, { name: 'bar-10' }) < 0);
  assert.equal(levelOf(nodes[3]!), 'fault');
});

test('nodes of one place stand together, as the daemon names it', () => {
  const nodes = [aNode('a', { place: 'quay' }), aNode('b'), aNode('c', { place: '' })];
  assert.deepEqual(
    groupNodes(nodes, 'place').map(({ name }) => name),
    ['nowhere said', 'quay', 'shore truss'],
  );
});

test('a search finds every word somewhere in name, place, line, label or state', () => {
  const node = aNode('truss-left', {
    conditions: [aCondition('caution', 'drifted', 'not as wanted')],
  });
  assert.ok(matches(node, 'TRUSS wanted'));
  assert.ok(matches(node, 'vocals'));
  assert.ok(matches(node, ''));
  assert.ok(!matches(node, 'truss silent'));
});

test('few nodes are large, many are lines', () => {
  assert.deepEqual([8, 13, 256].map(densityFor), ['large', 'middle', 'dense']);
});

test('only what is really otherwise is sent', () => {
  const base = aNode('bow').wanted!;
  assert.deepEqual(patchOf(base, { ...base, gain_db: 8 }), { gain_db: 8 });
  assert.deepEqual(patchOf(base, { ...base }), {});
});

test('edits are put onto what somebody else has changed, and touch nothing else of theirs', () => {
  const base = aNode('bow').wanted!;
  const theirs = { ...base, gain_db: 9, revision: 4 };
  const mine = patchOf(base, { ...base, label: 'choir A' });
  assert.deepEqual(onto(theirs, mine), {
    gain_db: 9,
    filter: 'slide-40',
    centre_mhz: 537,
    power: true,
    label: 'choir A',
  });
});

test('settings are told apart in words', () => {
  const base = aNode('bow').wanted!;
  assert.equal(
    differencesInWords(base, { ...base, gain_db: 8, power: false }),
    'gain 6.0 dB → 8.0 dB, power on → off: passive',
  );
  assert.equal(differencesInWords(base, base), '');
});

test('a value goes to the nearest step, counted from the lowest, and never out of range', () => {
  const steps = { lowest: -12, highest: 20, step: 0.5 };
  assert.equal(snap(2.3, steps), 2.5);
  assert.equal(snap(99, steps), 20);
  assert.equal(snap(-99, steps), -12);
  assert.equal(snap(537.013, { lowest: 430, highest: 740, step: 0.025 }), 537.025);
  assert.equal(snap(3.21, { lowest: 0, highest: 10, step: 0 }), 3.21);
});

const alarm = (id: number, otherwise: Partial<Alarm> = {}): Alarm => ({
  id,
  kind: 'silent',
  word: 'silent',
  priority: 'medium',
  state: 'active',
  subject: 'bow',
  sentence: 'bow does not answer.',
  active: true,
  raised_at: `2026-08-14T18:30:0${id}Z`,
  acknowledged: false,
  ...otherwise,
});

test('alarms stand in groups by their state, in the order in which the daemon lists them', () => {
  const alarms = [
    alarm(3, { state: 'returned' }),
    alarm(4, { state: 'shelved' }),
    alarm(2, { state: 'acknowledged' }),
    alarm(5),
    alarm(1),
  ];
  assert.deepEqual(
    byState(alarms).map((group) => [group.state, group.alarms.map(({ id }) => id)]),
    [
      ['active', [5, 1]],
      ['returned', [3]],
      ['acknowledged', [2]],
      ['shelved', [4]],
    ],
  );
  assert.deepEqual(count(alarms), { active: 3, unacknowledged: 3, shelved: 1 });
});

test('only an alarm that is new, or off the shelf again, calls', () => {
  const shelved = alarm(1, { state: 'shelved' });
  assert.deepEqual(
    newlyCalling([alarm(1)], [alarm(1), alarm(2)]).map(({ id }) => id),
    [2],
  );
  assert.deepEqual(
    newlyCalling([shelved], [alarm(1)]).map(({ id }) => id),
    [1],
  );
  assert.deepEqual(newlyCalling([alarm(1)], [alarm(1, { state: 'acknowledged' })]), []);
});

test('an alarm stands under the one that the daemon says, and is not counted', () => {
  const cause = alarm(1, { kind: 'line-down', subject: 'truss-bus' });
  const alarms = [cause, alarm(2, { cause: 1, under: 1 }), alarm(3, { cause: 1 })];
  assert.deepEqual(
    byState(alarms).flatMap((group) => group.alarms.map(({ id }) => id)),
    [1, 3],
  );
  assert.deepEqual(
    followersOf(cause, alarms).map(({ id }) => id),
    [2],
  );
  assert.equal(count(alarms).active, 2);
});

test('a node shows the alarms that its own conditions do not tell', () => {
  const alarms = [
    alarm(1),
    alarm(2, { kind: 'change-failed', word: 'change failed' }),
    alarm(3, { kind: 'babbling', word: 'babbling', state: 'returned' }),
    alarm(4, { kind: 'other-controller', word: 'another controller', subject: 'stern' }),
  ];
  const silent = aNode('bow', { conditions: [aCondition('fault', 'silent')] });
  assert.equal(onlyInAlarms(silent, alarms), 'change failed');
  assert.equal(onlyInAlarms(aNode('bow'), alarms), 'silent, change failed');
  assert.equal(onlyInAlarms(aNode('stern'), alarms), 'another controller');
});

test('the scale of a level budget holds every level in it, in tens', () => {
  const stage = (name: string, dbm: number) => ({
    name,
    label: name,
    gain_db: 0,
    noise_figure_db: 0,
    gain_so_far_db: 0,
    noise_figure_so_far_db: 0,
    noise_dbm: -121,
    strongest_dbm: dbm,
    weakest_dbm: dbm - 20,
  });
  const picture = pictureOf({
    carrier: 'vocal-1',
    frequency_mhz: 539.325,
    bandwidth_khz: 200,
    products: [],
    spurious_responses: [],
    transmitter_products: [],
    products_of_other_antennas: [],
    stages: [stage('antenna', -31), { ...stage('truss-left', -24), output_p1db_dbm: 20 }],
    budget: { chain_gain_db: 7, noise_figure_db: 8, noise_dbm: -113, desensitisation_db: 0 },
  });
  assert.equal(picture.top, 30);
  assert.equal(picture.bottom, -130);
  assert.equal(picture.points[1]?.limit, 20);
  assert.equal(picture.points[0]?.limit, undefined);
});

const switched = (
  where: SwitchedNode['where'],
  otherwise: Partial<SwitchedNode> = {},
): SwitchedNode => ({
  node: 'bow',
  where,
  progress: 'waiting',
  level: 'calm',
  word: 'waits',
  steps_done: 0,
  before: aNode('bow').wanted!,
  target: aNode('bow').wanted!,
  ...otherwise,
});
const aSwitch = {
  id: 1,
  from: 'arrival',
  to: 'speeches',
  triggered_by: 'hand' as const,
  who: 'mara',
  why: '',
  restores: false,
  back: false,
  step: 1,
  steps: 2,
  requested_at: '2026-08-14T18:30:00Z',
  nodes: [],
};

test('whoever the daemon has something to do for is to be looked at', () => {
  const left = switched('unknown', { what_to_do: 'See to its line.' });
  const stuck = { ...aSwitch, stage: 'stuck' as const, ended: true };
  assert.deepEqual(leftSomewhere({ ...stuck, nodes: [switched('target'), left] }), [left]);
});

test('a trigger is said in words', () => {
  const cue = { name: 'speeches', segment: 'speeches' };
  assert.equal(
    triggerWords({ ...cue, trigger: { by: 'clock', at: '18:30:00' } }),
    'by the clock at 18:30:00 every day',
  );
  assert.equal(
    triggerWords({ ...cue, trigger: { by: 'duration', after: 'arrival', seconds: 90 } }),
    '1 min 30 s after arrival',
  );
  assert.equal(
    triggerWords({ ...cue, trigger: { by: 'message', text: 'lanterns' } }),
    'by the message “lanterns”',
  );
});
