// SPDX-License-Identifier: Apache-2.0
// The crew sheet as it is ticked by now, in the order in which it is done.
import type { CrewRow, CrewSheet, CrewTick } from '../api/types';

// The sheet as it was asked for, with the ticks that the feed has told since.
export function withTicks(sheet: CrewSheet, ticks: readonly CrewTick[]): CrewRow[] {
  const own = new Map(
    ticks
      .filter(({ from, to }) => from === sheet.from && to === sheet.to)
      .map(({ row, who, at }) => [row, { who, at }]),
  );
  return sheet.rows.map(({ ticked: _, ...row }) => {
    const ticked = own.get(row.key);
    return ticked ? { ...row, ticked } : row;
  });
}

const headings: Record<CrewRow['moment'], string> = {
  before: 'Before the first node moves',
  meanwhile: 'At any moment around it',
  after: 'When the last node is there',
};

export interface CrewGroup {
  moment: CrewRow['moment'];
  heading: string;
  rows: CrewRow[];
}

export const groupsOf = (rows: readonly CrewRow[]): CrewGroup[] =>
  (['before', 'meanwhile', 'after'] as const)
    .map((moment) => ({
      moment,
      heading: headings[moment],
      rows: rows.filter((row) => row.moment === moment),
    }))
    .filter((group) => group.rows.length > 0);

const mostNamed = 8;

// What is to be done before and is not ticked; empty: nothing.
export function notTicked(rows: readonly CrewRow[]): string {
  const due = rows.filter(({ moment }) => moment === 'before');
  const open = due.filter(({ ticked }) => !ticked);
  if (open.length === 0) return '';
  const named = open.slice(0, mostNamed).map(({ what }) => what);
  const more = open.length > mostNamed ? `; and ${open.length - mostNamed} more` : '';
  return `${open.length} of ${due.length} to do before it ${
    open.length === 1 ? 'is' : 'are'
  } not ticked: ${named.join('; ')}${more}.`;
}
