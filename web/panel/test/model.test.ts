// SPDX-License-Identifier: Apache-2.0
import assert from 'node:assert/strict';
import { test } from 'node:test';
import type { Alarm, SwitchedNode } from '../src/api/types';
import { byState, count, followersOf, newlyCalling, onlyInAlarms, stateOf } from '../src/model/alarms';
import { pictureOf } from '../src/model/budget';
import { densityFor, groupNodes, matches, placeOf } from '../src/model/places';
import { differencesInWords, onto, patchOf, snap } from '../src/model/settings';
import { spanOf, within } from '../src/model/span';
import { leftSomewhere, progressOf, reasonOf, triggerWords } from '../src/model/switching';
import { byName, isOld, levelOf, troubles } from '../src/model/trouble';
import { aFinding, aNode } from './nodes';

test('a node in order is calm, and says so in one word', () => {
  assert.deepEqual(troubles(aNode('bow')), [{ level: 'calm', word: 'as wanted' }]);
});

test('the worst stands first: no supply before changed by hand', () => {
  const node = aNode('bow', {
    agreement: 'drifted',
    findings: [aFinding('caution'), aFinding('note')],
  });
  node.seen!.telemetry.powered = false;
  node.seen!.telemetry.locally_changed = true;
  assert.deepEqual(
    troubles(node).map(({ word }) => word),
    ['no supply: passive', 'changed by hand', '1 caution'],
  );
  assert.equal(levelOf(node), 'fault');
});

test('a node that is wanted without power is in order without power', () => {
  const node = aNode('bow');
  node.wanted!.power = false;
  node.seen!.settings.power = false;
  node.seen!.passive = true;
  assert.deepEqual(troubles(node), [{ level: 'calm', word: 'power off, as wanted' }]);
});

test('a reading is old when it is stale, when the node is silent, and when nobody renewed it', () => {
  assert.equal(isOld(aNode('bow'), 400), false);
  assert.equal(isOld(aNode('bow', { link: 'silent' }), 400), true);
  assert.equal(isOld(aNode('bow'), 16_000), true);
  assert.equal(isOld(aNode('bow'), null), true);
});

test('trouble comes first, worst first; names count as people count', () => {
  const nodes = [
    aNode('bar-10'),
    aNode('bar-2'),
    aNode('bar-3', { agreement: 'drifted' }),
    aNode('bar-4', { link: 'silent' }),
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
});

test('a place is what stands before the comma', () => {
  assert.equal(placeOf(aNode('bow', { hangs: 'floating stage, bow mast' })), 'floating stage');
  assert.equal(placeOf(aNode('bow', { hangs: '' })), 'nowhere said');
});

test('a search finds every word somewhere in name, place, line, label or state', () => {
  const node = aNode('truss-left', { agreement: 'drifted' });
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
  subject: 'bow',
  sentence: 'bow does not answer.',
  active: true,
  raised_at: `2026-08-14T18:30:0${id}Z`,
  acknowledged: false,
  ...otherwise,
});

test('alarms stand in the states of IEC 62682', () => {
  const alarms = [
    alarm(1),
    alarm(2, { acknowledged: true }),
    alarm(3, { active: false }),
    alarm(4, { shelved: { by: 'mara', why: 'it rains in', until: '2026-08-14T19:30:00Z' } }),
  ];
  assert.deepEqual(alarms.map(stateOf), ['active', 'acknowledged', 'returned', 'shelved']);
  assert.deepEqual(
    byState(alarms).map(({ state }) => state),
    ['active', 'returned', 'acknowledged', 'shelved'],
  );
  assert.deepEqual(count(alarms), { active: 2, unacknowledged: 2, shelved: 1 });
});

test('only an alarm that is new, or off the shelf again, calls', () => {
  const shelved = alarm(1, { shelved: { by: 'mara', why: 'rain', until: '2026-08-14T19:30:00Z' } });
  assert.deepEqual(
    newlyCalling([alarm(1)], [alarm(1), alarm(2)]).map(({ id }) => id),
    [2],
  );
  assert.deepEqual(
    newlyCalling([shelved], [alarm(1)]).map(({ id }) => id),
    [1],
  );
  assert.deepEqual(newlyCalling([alarm(1)], [alarm(1, { acknowledged: true })]), []);
});

test('alarms stand under their cause until it was seen before them', () => {
  const cause = alarm(1, { kind: 'line-down', subject: 'truss-bus' });
  const follows = [alarm(2, { cause: 1 }), alarm(3, { cause: 1 }), alarm(4, { cause: 9 })];
  const heads = (alarms: Alarm[]): number[] =>
    byState(alarms).flatMap((group) => group.alarms.map(({ id }) => id));
  const under = (of: Alarm, alarms: Alarm[]): number[] => followersOf(of, alarms).map(({ id }) => id);
  assert.deepEqual(heads([cause, ...follows]), [4, 1]);
  assert.deepEqual(under(cause, [cause, ...follows]), [2, 3]);
  const seen = { ...cause, acknowledged: true };
  const known = alarm(3, { cause: 1, acknowledged: true });
  assert.deepEqual(heads([seen, alarm(2, { cause: 1 }), known]).sort(), [1, 2]);
  assert.deepEqual(under(seen, [seen, alarm(2, { cause: 1 }), known]), [3]);
});

test('a node shows the alarms that its own state does not tell', () => {
  const alarms = [
    alarm(1),
    alarm(2, { kind: 'change-failed' }),
    alarm(3, { kind: 'change-failed', active: false }),
    alarm(4, { kind: 'other-controller', subject: 'stern' }),
  ];
  assert.deepEqual(
    [...onlyInAlarms(alarms)],
    [
      ['bow', 'change failed'],
      ['stern', 'another controller'],
    ],
  );
});

test('the scale of a level budget holds every level in it, in tens', () => {
  const stage = (name: string, dbm: number) => ({
    name,
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
    stages: [stage('antenna', -31), { ...stage('truss-left', -24), output_p1db_dbm: 20 }],
    budget: { chain_gain_db: 7, noise_figure_db: 8, noise_dbm: -113, desensitisation_db: 0 },
  });
  assert.equal(picture.top, 30);
  assert.equal(picture.bottom, -130);
  assert.equal(picture.points[1]?.limit, 20);
  assert.equal(picture.points[0]?.limit, undefined);
});

test('the span of a show is that of all its lanes and carriers', () => {
  const segment = {
    name: 'arrival',
    title: 'Boats arrive',
    settings: {},
    if_a_node_fails: 'roll back' as const,
    lanes: [{ name: 'out', purpose: 'transmit' as const, band_mhz: [640, 664] }],
    carriers: [
      {
        name: 'launch-1',
        use: 'receive' as const,
        frequency_mhz: 478.4,
        bandwidth_khz: 200,
        receivers: [],
      },
    ],
  };
  assert.deepEqual(
    spanOf([segment])?.map((mhz) => Number(mhz.toFixed(6))),
    [478.3, 664],
  );
  assert.equal(spanOf([]), null);
  assert.equal(within(400, [478.3, 664]), 0);
  assert.equal(within(550, [500, 600]), 0.5);
});

const switched = (
  where: SwitchedNode['where'],
  otherwise: Partial<SwitchedNode> = {},
): SwitchedNode => ({
  node: 'bow',
  where,
  progress: 'waiting',
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

test('a node of a switch is told by how far it is', () => {
  const under = { ...aSwitch, stage: 'staging' as const, ended: false };
  assert.equal(progressOf(switched('before', { progress: 'staged' }), under).steps, 2);
  assert.equal(progressOf(switched('target'), under).word, 'as planned');
  assert.equal(progressOf(switched('before', { progress: 'failed' }), under).level, 'fault');
  const back = { ...aSwitch, stage: 'rolled-back' as const, ended: true };
  assert.deepEqual(progressOf(switched('before'), back), {
    level: 'calm',
    word: 'as before',
    steps: 4,
  });
});

test('whoever is left where nobody chose is to be looked at', () => {
  const stuck = {
    ...aSwitch,
    stage: 'stuck' as const,
    ended: true,
    nodes: [switched('target'), switched('unknown'), switched('elsewhere')],
  };
  assert.equal(leftSomewhere(stuck).length, 2);
  assert.equal(leftSomewhere({ ...stuck, stage: 'rolled-back' }).length, 1);
  assert.equal(
    reasonOf(switched('unknown', { reason: 'bow: does not answer (timed out).' })),
    'does not answer (timed out)',
  );
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
