// SPDX-License-Identifier: Apache-2.0
// Where a key leads in the table of a matrix: a row for each input, in column 0 the input itself,
// then a column for each output.
export interface At {
  row: number;
  column: number;
}

const within = (value: number, most: number): number => Math.min(most, Math.max(0, value));

// Null: it leads nowhere. `far`: with Ctrl, to the very first or last.
export function moved(at: At, key: string, far: boolean, size: At): At | null {
  const to = (row: number, column: number): At => ({
    row: within(row, size.row - 1),
    column: within(column, size.column - 1),
  });
  switch (key) {
    case 'ArrowLeft':
      return to(at.row, at.column - 1);
    case 'ArrowRight':
      return to(at.row, at.column + 1);
    case 'ArrowUp':
      return to(at.row - 1, at.column);
    case 'ArrowDown':
      return to(at.row + 1, at.column);
    case 'Home':
      return to(far ? 0 : at.row, 0);
    case 'End':
      return to(far ? size.row - 1 : at.row, size.column - 1);
    default:
      return null;
  }
}
