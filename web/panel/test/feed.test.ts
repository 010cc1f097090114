// SPDX-License-Identifier: Apache-2.0
import assert from 'node:assert/strict';
import { test } from 'node:test';
import type { Switch, SwitchedNode } from '../src/api/types';
import { pauseBefore } from '../src/feed/pause';
import { apply, isGap, mergePatch, mergeSwitch, nothing, type Message } from '../src/feed/state';
import { aNode } from './nodes';

const at = '2026-08-14T18:30:00Z';
const hello: Message = { type: 'hello', server: 'a1', epoch: 1, sequence: 7 };
const snapshot: Message = { type: 'snapshot', sequence: 7, at, nodes: [aNode('bow'), aNode('stern')] };

test('a change replaces the nodes that it names, and leaves the others as they are', () => {
  const before = apply(apply(nothing, hello, 0), snapshot, 100);
  const after = apply(
    before,
    { type: 'change', sequence: 8, at, nodes: [aNode('stern', { link: 'silent' })] },
    200,
  );
  assert.equal(after.nodes.get('stern')?.link, 'silent');
  assert.equal(after.nodes.get('stern')?.heard, 200);
  assert.equal(after.nodes.get('bow'), before.nodes.get('bow'));
  assert.equal(after.sequence, 8);
});

test('a patch changes what it names of a node, and nothing else', () => {
  const before = apply(apply(nothing, hello, 0), snapshot, 100);
  const after = apply(
    before,
    {
      type: 'change',
      sequence: 8,
      at,
      node_patches: [{ name: 'stern', seen: { telemetry: { supply_v: 9 }, age_ms: 3 } }],
    },
    200,
  );
  const [bow, stern] = [after.nodes.get('bow'), after.nodes.get('stern')];
  assert.equal(bow, before.nodes.get('bow'));
  assert.equal(stern?.heard, 200);
  assert.equal(stern?.seen?.telemetry.supply_v, 9);
  assert.equal(stern?.seen?.telemetry.supply_ma, 180);
  assert.equal(stern?.seen?.age_ms, 3);
  assert.equal(stern?.wanted, before.nodes.get('stern')?.wanted);
});

// The example of RFC 7396, appendix A, row by row.
test('patches are merged as RFC 7396 has it', () => {
  const rows: [unknown, unknown, unknown][] = [
    [{ a: 'b' }, { a: 'c' }, { a: 'c' }],
    [{ a: 'b' }, { b: 'c' }, { a: 'b', b: 'c' }],
    [{ a: 'b' }, { a: null }, {}],
    [{ a: 'b', b: 'c' }, { a: null }, { b: 'c' }],
    [{ a: ['b'] }, { a: 'c' }, { a: 'c' }],
    [{ a: 'c' }, { a: ['b'] }, { a: ['b'] }],
    [{ a: { b: 'c' } }, { a: { b: 'd', c: null } }, { a: { b: 'd' } }],
    [{ a: [{ b: 'c' }] }, { a: [1] }, { a: [1] }],
    [['a', 'b'], ['c', 'd'], ['c', 'd']],
    [{ a: 'b' }, ['c'], ['c']],
    [{ a: 'foo' }, null, null],
    [{ a: 'foo' }, 'bar', 'bar'],
    [{ e: null }, { a: 1 }, { e: null, a: 1 }],
    [[1, 2], { a: 'b', c: null }, { a: 'b' }],
    [{}, { a: { bb: { ccc: null } } }, { a: { bb: {} } }],
  ];
  for (const [before, patch, after] of rows) assert.deepEqual(mergePatch(before, patch), after);
});

test('a snapshot forgets nodes that are not there any more', () => {
  const before = apply(apply(nothing, hello, 0), snapshot, 0);
  const after = apply(before, { type: 'snapshot', sequence: 9, at, nodes: [aNode('bow')] }, 1);
  assert.deepEqual([...after.nodes.keys()], ['bow']);
});

test('a daemon that was started anew is believed nothing of before', () => {
  const before = apply(apply(nothing, hello, 0), snapshot, 0);
  assert.equal(apply(before, { ...hello, server: 'b2' }, 1).nodes.size, 0);
  assert.equal(apply(before, hello, 1), before);
});

test('a change that does not follow the last one shows that something was missed', () => {
  const state = apply(apply(nothing, hello, 0), snapshot, 0);
  assert.equal(isGap(state, { type: 'change', sequence: 8, at }), false);
  assert.equal(isGap(state, { type: 'change', sequence: 9, at }), true);
  assert.equal(isGap(state, { type: 'snapshot', sequence: 12, at }), false);
});

test('a later message about a switch names only what differs', () => {
  const switched = (node: string, where: SwitchedNode['where']): SwitchedNode => ({
    node,
    where,
    progress: 'waiting',
    level: 'calm',
    word: 'waits',
    steps_done: 0,
    before: aNode(node).wanted!,
    target: aNode(node).wanted!,
  });
  const first: Switch = {
    id: 4,
    from: 'arrival',
    to: 'speeches',
    triggered_by: 'hand',
    who: 'mara',
    why: '',
    stage: 'staging',
    ended: false,
    restores: false,
    back: false,
    step: 1,
    steps: 1,
    requested_at: '2026-08-14T18:30:00Z',
    nodes: [switched('bow', 'before'), switched('stern', 'before')],
    findings: [],
  };
  const { findings: _, ...rest } = first;
  const merged = mergeSwitch(first, {
    ...rest,
    stage: 'done',
    ended: true,
    nodes: [switched('stern', 'target')],
  });
  assert.deepEqual(
    merged.nodes.map(({ node, where }) => [node, where]),
    [
      ['bow', 'before'],
      ['stern', 'target'],
    ],
  );
  assert.deepEqual(merged.findings, []);
  assert.equal(mergeSwitch(first, { ...rest, id: 5, nodes: [] }).nodes.length, 0);
});

test('pauses double up to eight seconds, each spread by a quarter', () => {
  assert.deepEqual(
    [1, 2, 3, 4, 5, 6, 60].map((attempt) => pauseBefore(attempt, 0.5)),
    [500, 1000, 2000, 4000, 8000, 8000, 8000],
  );
  assert.equal(pauseBefore(1, 0), 375);
  assert.equal(pauseBefore(1, 1), 625);
});
