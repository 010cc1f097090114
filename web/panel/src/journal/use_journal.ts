// SPDX-License-Identifier: Apache-2.0
// Rows of the journal for what is asked: the newest, read again when something may have been written,
// and older ones as somebody wants them.
import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import { get, isAbort, Refused, type Query } from '../api/client';
import type { JournalEntry } from '../api/types';
import { state } from '../feed/store';
import type { Refusal } from '../ui/act';

export interface Journal {
  entries: readonly JournalEntry[] | null;
  refusal: Refusal | null;
  busy: boolean;
  // A search is bounded: it may have looked at the rows from this one on only.
  lookedDownTo: number | undefined;
  again: () => void;
  // Absent: there are none.
  older?: () => void;
}

const page = 100;

// What may have put a row into the journal.
function pulse(): string {
  const { changes, rack, switching, alarms, order } = state.value;
  return JSON.stringify([
    changes.slice(-1).map(({ id, stage }) => [id, stage]),
    [rack?.locked, rack?.segment, rack?.revision, order?.armed?.until],
    [switching?.id, switching?.stage],
    alarms.map(({ id, active, acknowledged, shelved }) => [
      id,
      active,
      acknowledged,
      shelved?.until,
    ]),
  ]);
}

export function useJournal(asked: Query): Journal {
  const entries = useSignal<readonly JournalEntry[] | null>(null);
  const refusal = useSignal<Refusal | null>(null);
  const more = useSignal(false);
  const lookedDownTo = useSignal<number | undefined>(undefined);
  const busy = useSignal(false);
  const load = async (before?: number, signal?: AbortSignal): Promise<void> => {
    busy.value = true;
    try {
      const query = { ...asked, before, limit: page };
      const answer = await get('/journal', {}, { query, ...(signal ? { signal } : {}) });
      const above = before === undefined ? [] : (entries.value ?? []);
      entries.value = [...above, ...answer.entries];
      lookedDownTo.value = answer.looked_down_to;
      more.value = answer.entries.length === page || answer.looked_down_to !== undefined;
      refusal.value = null;
    } catch (error) {
      if (isAbort(error)) return;
      if (!(error instanceof Refused)) throw error;
      refusal.value = error.problem;
    } finally {
      busy.value = false;
    }
  };
  // Whoever reads further back is not disturbed.
  const readsBack = (entries.value?.length ?? 0) > page;
  useEffect(() => {
    const stop = new AbortController();
    const soon = setTimeout(() => void load(undefined, stop.signal), 300);
    return () => {
      clearTimeout(soon);
      stop.abort();
    };
  }, [JSON.stringify(asked), readsBack ? '' : pulse()]);
  const last = entries.value?.[entries.value.length - 1]?.sequence;
  return {
    entries: entries.value,
    refusal: refusal.value,
    busy: busy.value,
    lookedDownTo: lookedDownTo.value,
    again: () => void load(),
    ...(more.value ? { older: () => void load(lookedDownTo.value ?? last) } : {}),
  };
}
