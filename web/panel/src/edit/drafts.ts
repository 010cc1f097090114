// SPDX-License-Identifier: Apache-2.0
// Edits that are not sent yet, each with the settings that it was made on. They stay while one
// looks at something else, and are never sent by themselves.
import { effect, signal } from '@preact/signals';
import type { Settings, Wanted } from '../api/types';
import { onto, patchOf } from '../model/settings';
import { standing } from '../session/session';

export interface Draft {
  readonly base: Wanted;
  readonly settings: Settings;
}

export const drafts = signal<ReadonlyMap<string, Draft>>(new Map());
// Nothing stays for whoever signs in next.
effect(() => {
  if (standing.value.at === 'out') drafts.value = new Map();
});

function put(node: string, draft: Draft | null): void {
  const next = new Map(drafts.value);
  if (draft && Object.keys(patchOf(draft.base, draft.settings)).length > 0) next.set(node, draft);
  else next.delete(node);
  drafts.value = next;
}

export function edit(node: string, wanted: Wanted, changed: Partial<Settings>): void {
  const old = drafts.value.get(node);
  const base = old?.base ?? wanted;
  put(node, { base, settings: onto({ ...(old?.settings ?? wanted), ...changed }, {}) });
}

export const discard = (node: string): void => put(node, null);

// The same edits, on what somebody else has made of the settings in between.
export function rebase(node: string, wanted: Wanted): void {
  const old = drafts.value.get(node);
  if (old) put(node, { base: wanted, settings: onto(wanted, patchOf(old.base, old.settings)) });
}
