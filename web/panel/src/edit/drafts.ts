// SPDX-License-Identifier: Apache-2.0
// Edits that are not sent yet, each with the settings that it was made on. They stay while one
// looks at something else and when the page is loaded anew, and are never sent by themselves.
import { effect, signal } from '@preact/signals';
import type { Settings, Wanted } from '../api/types';
import { keepInTab, keptInTab } from '../browser/kept_in_tab';
import { live, state } from '../feed/store';
import { onto, patchOf } from '../model/settings';
import { standing } from '../session/session';
import { read, sortedOut, written, type CameBack, type Draft, type Drafts } from './kept_drafts';

export type { Draft } from './kept_drafts';

export const drafts = signal<Drafts>(new Map());
// Of the page before this one, until the feed tells what is wanted by now.
const waiting = signal<Drafts>(read(keptInTab('drafts')));
export const cameBack = signal<CameBack | null>(null);

effect(() => {
  if (!live.value || waiting.value.size === 0) return;
  const sorted = sortedOut(waiting.value, state.value.nodes);
  waiting.value = new Map();
  drafts.value = new Map([...sorted.kept, ...drafts.peek()]);
  cameBack.value = sorted;
});
// Nothing stays for whoever signs in next.
effect(() => {
  if (standing.value.at !== 'out') return;
  waiting.value = new Map();
  drafts.value = new Map();
  cameBack.value = null;
});
effect(() => keepInTab('drafts', written(new Map([...waiting.value, ...drafts.value]))));

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
