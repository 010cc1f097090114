// SPDX-License-Identifier: Apache-2.0
import assert from 'node:assert/strict';
import { test } from 'node:test';
import type { CrewRow, CrewSheet, CrewTick } from '../src/api/types';
import { apply, nothing } from '../src/feed/state';
import { groupsOf, notTicked, withTicks } from '../src/model/crew';

const aRow = (key: string, moment: CrewRow['moment'], otherwise: Partial<CrewRow> = {}): CrewRow => ({
  key,
  act: 'off',
  moment,
  carrier: key,
  use: 'receive',
  what: `${key} off`,
  receivers: [],
  ...otherwise,
});
const aTick = (row: string, otherwise: Partial<CrewTick> = {}): CrewTick => ({
  from: 'arrival',
  to: 'finale',
  row,
  who: 'ana',
  at: '2026-08-14T18:00:00Z',
  ...otherwise,
});
const sheet: CrewSheet = {
  from: 'arrival',
  to: 'finale',
  rows: [
    aRow('vocal-1', 'before', { ticked: { who: 'bo', at: '2026-08-14T17:00:00Z' } }),
    aRow('vocal-2', 'before'),
    aRow('guest-1', 'after'),
  ],
};

test('what the feed has told last of a row counts, not what stood there when it was asked for', () => {
  const rows = withTicks(sheet, [aTick('vocal-2')]);
  assert.equal(rows[0]!.ticked, undefined);
  assert.deepEqual(rows[1]!.ticked, { who: 'ana', at: '2026-08-14T18:00:00Z' });
});

test('ticks of another way, and of rows that are not there, count for nothing', () => {
  const rows = withTicks(sheet, [
    aTick('vocal-1', { from: 'speeches' }),
    aTick('vocal-1', { to: 'speeches' }),
    aTick('vocal-9'),
  ]);
  assert.equal(rows.length, 3);
  assert.ok(rows.every(({ ticked }) => ticked === undefined));
});

test('a sheet is read in the order of its moments, and those without rows are left out', () => {
  assert.deepEqual(
    groupsOf(sheet.rows).map(({ moment, rows }) => [moment, rows.length]),
    [
      ['before', 2],
      ['after', 1],
    ],
  );
});

test('the warning counts and names what is to be done before the nodes move, and nothing else', () => {
  assert.equal(notTicked(sheet.rows), '1 of 2 to do before it is not ticked: vocal-2 off.');
  assert.equal(
    notTicked(withTicks(sheet, [])),
    '2 of 2 to do before it are not ticked: vocal-1 off; vocal-2 off.',
  );
  assert.equal(notTicked(withTicks(sheet, [aTick('vocal-1'), aTick('vocal-2')])), '');
  assert.equal(notTicked([]), '');
  const many = Array.from({ length: 11 }, (_, i) => aRow(`v${i}`, 'before'));
  assert.match(notTicked(many), /^11 of 11 .*; v7 off; and 3 more\.$/);
});

test('the feed tells all ticks anew, and says nothing of them where they stay', () => {
  const told = apply(nothing, { type: 'snapshot', sequence: 1, ticks: [aTick('vocal-1')] }, 0);
  assert.equal(told.ticks.length, 1);
  const later = apply(told, { type: 'change', sequence: 2 }, 0);
  assert.equal(later.ticks, told.ticks);
  assert.deepEqual(apply(later, { type: 'change', sequence: 3, ticks: [] }, 0).ticks, []);
});
