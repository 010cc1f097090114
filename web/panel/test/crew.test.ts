// SPDX-License-Identifier: Apache-2.0
import assert from 'node:assert/strict';
import { test } from 'node:test';
import type { CrewRow, CrewSheet, CrewTick } from '../src/api/types';
import { apply, nothing } from '../src/feed/state';
import { groupsOf } from '../src/model/crew';

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

test('a sheet is read in the order of its moments, and those without rows are left out', () => {
  assert.deepEqual(
    groupsOf(sheet.rows).map(({ moment, rows }) => [moment, rows.length]),
    [
      ['before', 2],
      ['after', 1],
    ],
  );
});

test('the feed tells all ticks anew, and says nothing of them where they stay', () => {
  const at = '2026-08-14T18:30:00Z';
  const told = apply(nothing, { type: 'snapshot', sequence: 1, at, ticks: [aTick('vocal-1')] }, 0);
  assert.equal(told.ticks.length, 1);
  const later = apply(told, { type: 'change', sequence: 2, at }, 0);
  assert.equal(later.ticks, told.ticks);
  assert.deepEqual(apply(later, { type: 'change', sequence: 3, at, ticks: [] }, 0).ticks, []);
});
