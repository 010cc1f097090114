// SPDX-License-Identifier: Apache-2.0
// One cell of a table that Tab comes to, and keys that move on from it.
import { useSignal } from '@preact/signals';
import type { RefObject } from 'preact';
import { useRef } from 'preact/hooks';
import { moved, type At } from './moved';

interface OfCell {
  tabIndex: number;
  'data-at': string;
  onFocus: () => void;
}

export interface Roving {
  at: At;
  table: RefObject<HTMLTableElement>;
  cell: (row: number, column: number) => OfCell;
  onKeyDown: (event: KeyboardEvent) => void;
}

interface Props {
  // Rows, and columns with that of the heads.
  size: At;
  // The row that it begins with.
  row: number;
  onRow: (row: number) => void;
  // Space, and Enter on a cell that is no head.
  onPress: (at: At) => void;
  // Enter on the head of a row.
  onOpen: () => void;
}

export function useRoving({ size, row, onRow, onPress, onOpen }: Props): Roving {
  const table = useRef<HTMLTableElement>(null);
  const column = useSignal(1);
  const at = { row, column: Math.min(column.value, size.column - 1) };
  const onKeyDown = (event: KeyboardEvent): void => {
    if (event.altKey || event.metaKey) return;
    const next = moved(at, event.key, event.ctrlKey, size);
    if (next) {
      event.preventDefault();
      table.current
        ?.querySelector<HTMLElement>(`[data-at="${next.row} ${next.column}"]`)
        ?.focus();
    } else if ((event.key === ' ' || event.key === 'Enter') && !event.ctrlKey) {
      event.preventDefault();
      // Held, a key does nothing twice.
      if (event.repeat) return;
      if (at.column > 0) onPress(at);
      else if (event.key === 'Enter') onOpen();
    }
  };
  return {
    at,
    table,
    onKeyDown,
    cell: (r, c) => ({
      tabIndex: r === at.row && c === at.column ? 0 : -1,
      'data-at': `${r} ${c}`,
      onFocus: () => {
        column.value = c;
        if (r !== row) onRow(r);
      },
    }),
  };
}
