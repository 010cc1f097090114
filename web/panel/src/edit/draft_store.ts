// SPDX-License-Identifier: Apache-2.0
// Edits that are not sent yet, each with the settings that it was made on. They stay while one
// looks at something else and when the page is loaded anew, and are never sent by themselves.
import { effect, signal, type Signal } from '@preact/signals';
import { keepInTab, keptInTab } from '../browser/kept_in_tab';
import { live, state } from '../feed/store';
import type { RackState } from '../feed/state';
import { standing } from '../session/session';
import {
  read,
  sortedOut,
  written,
  type CameBack,
  type Draft,
  type Drafts,
  type Kind,
  type Revised,
} from './kept_drafts';

export interface DraftStore<Settings> {
  drafts: Signal<Drafts<Settings>>;
  // What became of those of the page before this one; null: that was seen.
  cameBack: Signal<CameBack<Settings> | null>;
  edit: (name: string, wanted: Settings & Revised, changed: object) => void;
  discard: (name: string) => void;
  // The same edits, on what somebody else has made of the settings in between.
  rebase: (name: string, wanted: Settings & Revised) => void;
}

// `keptAs`: the name that the tab keeps them by. `told`: what the feed says is wanted by now.
export function draftStore<Settings extends object>(
  keptAs: string,
  kind: Kind<Settings>,
  told: (state: RackState) => ReadonlyMap<string, { wanted?: Settings & Revised }>,
): DraftStore<Settings> {
  const drafts = signal<Drafts<Settings>>(new Map());
  // Of the page before this one, until the feed tells what is wanted by now.
  const waiting = signal<Drafts<Settings>>(read(keptInTab(keptAs), kind));
  const cameBack = signal<CameBack<Settings> | null>(null);
  const put = (name: string, draft: Draft<Settings> | null): void => {
    const next = new Map(drafts.value);
    if (draft && Object.keys(kind.patchOf(draft.base, draft.settings)).length > 0)
      next.set(name, draft);
    else next.delete(name);
    drafts.value = next;
  };

  effect(() => {
    if (!live.value || waiting.value.size === 0) return;
    const sorted = sortedOut(waiting.value, told(state.value), kind);
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
  effect(() => keepInTab(keptAs, written(new Map([...waiting.value, ...drafts.value]))));

  return {
    drafts,
    cameBack,
    edit: (name, wanted, changed) => {
      const old = drafts.value.get(name);
      const settings = kind.onto(old?.settings ?? kind.onto(wanted, {}), changed);
      put(name, { base: old?.base ?? wanted, settings });
    },
    discard: (name) => put(name, null),
    rebase: (name, wanted) => {
      const old = drafts.value.get(name);
      if (!old) return;
      const settings = kind.onto(wanted, kind.patchOf(old.base, old.settings));
      put(name, { base: wanted, settings });
    },
  };
}
