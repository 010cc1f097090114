// SPDX-License-Identifier: Apache-2.0
// The crew sheet in the order in which it is done.
import type { CrewRow } from '../api/types';

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
