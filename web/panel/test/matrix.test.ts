// SPDX-License-Identifier: Apache-2.0
import assert from 'node:assert/strict';
import { test } from 'node:test';
import type { MatrixSettings } from '../src/api/matrix';
import { read, toInput } from '../src/browser/route';
import { read as readDrafts, sortedOut, written } from '../src/edit/kept_drafts';
import { apply, nothing, type Message } from '../src/feed/state';
import {
  fullWords,
  heardByWords,
  hearsWords,
  idle,
  inForce,
  namesOf,
  passageOf,
  passes,
  toggled,
  volts,
  type Stand,
} from '../src/model/matrix';
import * as kind from '../src/model/matrix_settings';
import { inWords } from '../src/model/settings';
import { moved } from '../src/routes/moved';
import { threads } from '../src/routes/threads';
import { aMatrix, routed } from './matrices';
import { aNode } from './nodes';

const at = '2026-08-14T18:30:00Z';
const hello: Message = { type: 'hello', server: 'a1', epoch: 1, sequence: 7 };
const withRoutes = (routes: Record<string, number[]>): MatrixSettings =>
  kind.onto(routed, { routes });

test('a change replaces the matrices that it names, and a snapshot forgets the others', () => {
  const matrices = [aMatrix('shore'), aMatrix('quay')];
  const first = apply(
    apply(nothing, hello, 0),
    { type: 'snapshot', sequence: 7, at, nodes: [], matrices },
    100,
  );
  const after = apply(
    first,
    { type: 'change', sequence: 8, at, matrices: [aMatrix('quay', { link: 'silent' })] },
    200,
  );
  assert.equal(after.matrices.get('quay')?.link, 'silent');
  assert.equal(after.matrices.get('quay')?.heard, 200);
  assert.equal(after.matrices.get('shore'), first.matrices.get('shore'));
  assert.equal(apply(after, { type: 'change', sequence: 9, at }, 300).matrices, after.matrices);
  const again: Message = { type: 'snapshot', sequence: 9, at, matrices: [aMatrix('shore')] };
  assert.deepEqual([...apply(after, again, 300).matrices.keys()], ['shore']);
});

test('a daemon that knows no matrices, and a rack without any, have none', () => {
  const before = apply(nothing, hello, 0);
  for (const matrices of [{}, { matrices: [] }]) {
    const told: Message = { type: 'snapshot', sequence: 7, at, nodes: [aNode('bow')], ...matrices };
    assert.equal(apply(before, told, 0).matrices.size, 0);
  }
});

test('a patch of a node changes where its cable ends', () => {
  const before = apply(
    apply(nothing, hello, 0),
    { type: 'snapshot', sequence: 7, at, nodes: [aNode('bow')] },
    0,
  );
  const fed_by = { matrix: 'shore', input: 3 };
  const patch: Message = { type: 'change', sequence: 8, at, node_patches: [{ name: 'bow', fed_by }] };
  assert.deepEqual(apply(before, patch, 0).nodes.get('bow')?.fed_by, fed_by);
});

test('an input of a matrix has an address', () => {
  const found = read(toInput({ matrix: 'shore & quay', input: 3 }));
  assert.equal(found.view, 'routes');
  assert.equal(found.query.get('matrix'), 'shore & quay');
  assert.equal(found.query.get('input'), '3');
});

test('it is said who hears what, and what is in use by nothing', () => {
  const matrix = aMatrix('shore');
  const [first, , third] = matrix.outputs;
  assert.equal(hearsWords(matrix, first!), 'hears quay-east and pier');
  assert.equal(hearsWords(matrix, third!), 'hears nothing');
  assert.equal(heardByWords(matrix, 1), 'heard by vocals A');
  assert.equal(heardByWords(matrix, 4), 'heard by nobody');
  assert.deepEqual(idle(matrix), []);
  assert.equal(namesOf(matrix).input(4), 'input 4');
  assert.equal(namesOf(matrix).output(3), 'output 3');
  const { seen } = matrix;
  const settings = withRoutes({ 1: [4], 2: [], 3: [] });
  const [one, two, three] = matrix.outputs;
  const otherwise = aMatrix('shore', {
    seen: { ...seen!, settings },
    outputs: [{ ...one!, hears: [] }, { ...two!, hears: [] }, three!],
  });
  assert.equal(hearsWords(otherwise, otherwise.outputs[0]!), 'hears no antenna');
  assert.deepEqual(idle(otherwise), [
    '2 receiver branches hear nothing',
    '3 antennas heard by nobody',
  ]);
});

test('what is in force is what was read, else what was set by hand, else what is wanted', () => {
  const { seen: _, ...never } = aMatrix('shore');
  assert.equal(inForce(aMatrix('shore')), routed);
  assert.equal(inForce(never)?.label, 'shore rack');
  const { wanted: __, ...untold } = never;
  assert.equal(inForce(untold), undefined);
  assert.deepEqual(idle(untold), ['never read']);
  const byHand = { ...untold, set_from_here: false, set_by_hand: withRoutes({ 1: [2] }) };
  assert.deepEqual(inForce(byHand)?.routes['1'], [2]);
});

test('a cell says how an input stands to an output', () => {
  const stand = (otherwise: Partial<Stand>): Stand => ({
    seen: routed,
    wanted: routed,
    draft: undefined,
    moving: false,
    ...otherwise,
  });
  const without = withRoutes({ 1: [1] });
  const draft = { base: routed, settings: withRoutes({ 1: [1, 2] }) };
  const rows: [Partial<Stand>, number, string, boolean][] = [
    [{}, 1, 'heard', true],
    [{}, 2, 'none', false],
    [{ seen: undefined }, 1, 'wanted', true],
    [{ seen: undefined, wanted: undefined }, 1, 'none', false],
    [{ wanted: undefined }, 1, 'heard', true],
    [{ draft }, 2, 'added', true],
    [{ draft }, 3, 'dropped', false],
    [{ draft }, 1, 'heard', true],
    [{ seen: without }, 3, 'missing', false],
    [{ wanted: without }, 3, 'strange', true],
    [{ seen: without, moving: true }, 3, 'coming', false],
    [{ wanted: without, moving: true }, 3, 'going', true],
  ];
  for (const [otherwise, input, passage, heard] of rows) {
    const found = passageOf(stand(otherwise), 1, input);
    assert.equal(found, passage, JSON.stringify([otherwise, input]));
    assert.equal(passes(found), heard);
  }
});

test('a unit that selects replaces the input of an output; one that sums adds until it is full', () => {
  assert.deepEqual(toggled(routed, { output: 2, input: 1, most: 1 }), [1]);
  assert.deepEqual(toggled(routed, { output: 2, input: 2, most: 1 }), []);
  assert.deepEqual(toggled(routed, { output: 2, input: 1, most: 2 }), [1, 2]);
  assert.deepEqual(toggled(routed, { output: 1, input: 3, most: 2 }), [1]);
  assert.equal(toggled(routed, { output: 1, input: 4, most: 2 }), null);
  assert.match(fullWords('vocals A', 2), /^vocals A already hears 2 inputs/);
});

test('edits are said in the words of the rack', () => {
  const names = namesOf(aMatrix('shore'));
  const after = kind.onto(routed, {
    label: '',
    routes: { 1: [1], 3: [2, 4] },
    trims_db: { 2: 0 },
    supplies_mv: { 1: 0, 3: 9500 },
    labels: { 2: 'west' },
  });
  assert.equal(
    inWords(kind.differences(routed, after, names)),
    'vocals A quay-east + pier → quay-east, output 3 nothing → quay-west + input 4, ' +
      'trim of quay-west −4.5 dB → 0.0 dB, supply of quay-east 12 V → off, ' +
      'supply of pier off → 9.5 V, label of quay-west none → west, ' +
      'label of the unit shore rack → none',
  );
  assert.deepEqual(kind.differences(routed, routed), []);
  assert.equal(volts(0), 'off');
});

test('only what is really otherwise is sent, table by table', () => {
  const edited = kind.onto(routed, { routes: { 1: [1], 2: [2] }, trims_db: { 1: 0, 4: -3 } });
  assert.deepEqual(kind.patchOf(routed, edited), { routes: { 1: [1] }, trims_db: { 4: -3 } });
  assert.deepEqual(kind.patchOf(routed, kind.onto(routed, {})), {});
  const newer = kind.onto(routed, { label: 'theirs', routes: { 2: [3] } });
  const merged = kind.onto(newer, kind.patchOf(routed, edited));
  assert.equal(merged.label, 'theirs');
  assert.deepEqual(merged.routes, { 1: [1], 2: [3], 3: [] });
  assert.deepEqual(merged.trims_db, { 1: 0, 2: -4.5, 3: 0, 4: -3 });
});

test('a unit without trims or supplies gets none', () => {
  const { trims_db: _, supplies_mv: __, ...plain } = routed;
  const after = kind.onto({ ...plain, revision: 3 } as MatrixSettings, { routes: { 3: [1] } });
  assert.deepEqual(Object.keys(after).sort(), ['label', 'labels', 'routes']);
});

test('edits of a matrix that a tab has kept are read again, and what is none is left out', () => {
  const base = { ...routed, revision: 3 };
  const kept = new Map([['shore', { base, settings: withRoutes({ 3: [1] }) }]]);
  assert.deepEqual(readDrafts(written(kept), kind), kept);
  const bad: object[] = [
    { routes: { 1: 3 } },
    { routes: { 1: ['3'] } },
    { labels: null },
    { labels: { 1: 7 } },
    { trims_db: { 1: '0' } },
    { supplies_mv: 9000 },
    { label: 7 },
  ];
  for (const otherwise of bad) {
    const entry = ['shore', { base, settings: { ...routed, ...otherwise } }];
    assert.equal(readDrafts(JSON.stringify([entry]), kind).size, 0, JSON.stringify(otherwise));
  }
  const stays = { wanted: { ...base, revision: 5 } };
  assert.equal(
    sortedOut(kept, new Map([['shore', stays]]), kind).kept.get('shore')?.base.revision,
    5,
  );
  const set = { wanted: { ...base, ...withRoutes({ 2: [] }) } };
  assert.deepEqual(sortedOut(kept, new Map([['shore', set]]), kind).dropped, ['shore']);
});

test('keys move in the table, and not beyond it', () => {
  const size = { row: 4, column: 4 };
  const go = (key: string, far = false): [number, number] | null => {
    const to = moved({ row: 1, column: 3 }, key, far, size);
    return to && [to.row, to.column];
  };
  assert.deepEqual(go('ArrowLeft'), [1, 2]);
  assert.deepEqual(go('ArrowRight'), [1, 3]);
  assert.deepEqual(go('ArrowUp'), [0, 3]);
  assert.deepEqual(go('ArrowDown'), [2, 3]);
  assert.deepEqual(go('Home'), [1, 0]);
  assert.deepEqual(go('End'), [1, 3]);
  assert.deepEqual(go('Home', true), [0, 0]);
  assert.deepEqual(go('End', true), [3, 3]);
  assert.equal(go('a'), null);
  const edge = moved({ row: 0, column: 0 }, 'ArrowUp', false, size);
  assert.deepEqual(edge, { row: 0, column: 0 });
});

// Two inputs on the first output, one of them on the third too:
//   1 ─┬──
//   2 ─┴──┴─
test('a thread goes along to the last output that hears the input, and up to the name', () => {
  const drawn = threads([
    [true, false, false],
    [true, false, true],
    [false, false, false],
  ]);
  assert.deepEqual(drawn, [
    [{ along: 'in', up: 'through' }, {}, { up: 'through' }],
    [{ along: 'through', up: 'in' }, { along: 'through' }, { along: 'in', up: 'in' }],
    [{}, {}, {}],
  ]);
  assert.deepEqual(threads([]), []);
});

test('an output of another matrix stands where an antenna would, and the other way round', () => {
  const matrix = aMatrix('foh', {
    inputs: [{ input: 1, from: { matrix: 'shore', output: 3 } }, { input: 2 }],
    outputs: [{ output: 1, ends_at: { matrix: 'attic', input: 4 }, hears: [] }],
  });
  assert.equal(namesOf(matrix).input(1), 'shore, output 3');
  assert.equal(namesOf(matrix).input(2), 'input 2');
  assert.equal(namesOf(matrix).output(1), 'attic, input 4');
});
