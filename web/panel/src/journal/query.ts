// SPDX-License-Identifier: Apache-2.0
// The filters of the journal: what the person wrote, and what the daemon is asked.
import type { Query } from '../api/client';

export interface Filters {
  node: string;
  kind: string;
  who: string;
  from: string;
  to: string;
  text: string;
}
export const none: Filters = { node: '', kind: '', who: '', from: '', to: '', text: '' };

export function filtersIn(query: URLSearchParams): Filters {
  const found = { ...none };
  for (const name of Object.keys(none) as (keyof Filters)[]) found[name] = query.get(name) ?? '';
  return found;
}

// A day and time of this machine, as RFC 3339 has it.
export function moment(local: string): string | undefined {
  const time = Date.parse(local);
  return local && !Number.isNaN(time) ? new Date(time).toISOString() : undefined;
}

export const askedFor = (filters: Filters): Query => ({
  node: filters.node || undefined,
  kind: filters.kind || undefined,
  who: filters.who.trim() || undefined,
  text: filters.text.trim() || undefined,
  from: moment(filters.from),
  to: moment(filters.to),
});

export const given = (filters: Filters): Record<string, string> =>
  Object.fromEntries(Object.entries(filters).filter(([, value]) => value !== ''));
