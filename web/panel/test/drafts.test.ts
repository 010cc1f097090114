// SPDX-License-Identifier: Apache-2.0
import assert from 'node:assert/strict';
import { test } from 'node:test';
import type { Node } from '../src/api/types';
import { read, sortedOut, written } from '../src/edit/kept_drafts';
import * as kind from '../src/model/settings';
import { aNode } from './nodes';

const base = aNode('bow').wanted!;
const { revision: _, ...wanted } = base;
const kept = new Map([['bow', { base, settings: { ...wanted, gain_db: 8 } }]]);

test('edits that a tab has kept are read again as they were', () => {
  assert.deepEqual(read(written(kept), kind), kept);
  assert.equal(written(new Map()), null);
  assert.equal(read(null, kind).size, 0);
});

test('what is no edit is left out, whatever it is', () => {
  const bad: unknown[] = [
    7,
    null,
    ['bow'],
    ['bow', null],
    [7, kept.get('bow')],
    ['bow', { base, settings: { ...wanted, gain_db: '8' } }],
    ['bow', { base: wanted, settings: wanted }],
    ['bow', { base, settings: { ...wanted, centre_mhz: null } }],
  ];
  for (const entry of bad)
    assert.equal(read(JSON.stringify([entry, ...kept]), kind).size, 1, JSON.stringify(entry));
  for (const text of ['{', '{}', '7', '""']) assert.equal(read(text, kind).size, 0, text);
});

test('an edit stays where the node is wanted as it was, on the revision that counts now', () => {
  const now = aNode('bow', { wanted: { ...base, revision: 5 } });
  const { kept: still, dropped } = sortedOut(kept, new Map([['bow', now]]), kind);
  assert.deepEqual(dropped, []);
  assert.equal(still.get('bow')?.base.revision, 5);
  assert.equal(still.get('bow')?.settings.gain_db, 8);
});

test('an edit is dropped where the node has been set otherwise, or is there no more', () => {
  const set = aNode('bow', { wanted: { ...base, revision: 5, filter: 'open' } });
  assert.deepEqual(sortedOut(kept, new Map([['bow', set]]), kind).dropped, ['bow']);
  assert.deepEqual(sortedOut(kept, new Map(), kind).dropped, ['bow']);
  const { wanted: __, ...never } = aNode('bow');
  assert.deepEqual(sortedOut(kept, new Map<string, Node>([['bow', never]]), kind).dropped, ['bow']);
});
