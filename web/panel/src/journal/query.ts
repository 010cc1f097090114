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

// A day and time by the clock of the show, as the daemon takes it.
export const moment = (local: string): string | undefined =>
  /^\d{4}-\d\d-\d\dT\d\d:\d\d/.test(local) ? local : undefined;

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
