// SPDX-License-Identifier: Apache-2.0
// What feeds what, as threads: from an input along its row to the last output that hears it, and
// from there and from each output before it up to the output's name.
export interface Thread {
  // Along the row: through the cell, or only to its middle.
  along?: 'through' | 'in';
  // Up the column: from below, or only from its middle.
  up?: 'through' | 'in';
}

// `passes[row][column]`: whether the output of the column hears the input of the row.
export function threads(passes: readonly (readonly boolean[])[]): Thread[][] {
  const lowest = (passes[0] ?? []).map((_, column) =>
    passes.reduce((last, row, i) => (row[column] ? i : last), -1),
  );
  return passes.map((row, r) => {
    const last = row.lastIndexOf(true);
    return row.map((_, column) => {
      const foot = lowest[column] ?? -1;
      return {
        ...(column < last ? { along: 'through' } : column === last ? { along: 'in' } : {}),
        ...(r < foot ? { up: 'through' } : r === foot ? { up: 'in' } : {}),
      } as Thread;
    });
  });
}
