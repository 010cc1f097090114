// SPDX-License-Identifier: Apache-2.0
// Edits that are not sent, as a tab keeps them while its page is loaded anew.
import type { Node, Settings, Wanted } from '../api/types';
import { differences } from '../model/settings';

export interface Draft {
  // What was wanted when it was begun.
  readonly base: Wanted;
  readonly settings: Settings;
}
export type Drafts = ReadonlyMap<string, Draft>;

export const written = (drafts: Drafts): string | null =>
  drafts.size > 0 ? JSON.stringify([...drafts]) : null;

const isObject = (told: unknown): told is Record<string, unknown> =>
  typeof told === 'object' && told !== null;
const isSettings = (told: unknown): told is Settings =>
  isObject(told) &&
  typeof told['gain_db'] === 'number' &&
  typeof told['filter'] === 'string' &&
  ['undefined', 'number'].includes(typeof told['centre_mhz']) &&
  typeof told['power'] === 'boolean' &&
  typeof told['label'] === 'string';
const isDraft = (told: unknown): told is Draft =>
  isObject(told) &&
  isSettings(told['settings']) &&
  isSettings(told['base']) &&
  typeof (told['base'] as Partial<Wanted>).revision === 'number';

// What is no draft, as an older page may have kept it, is left out.
export function read(text: string | null): Drafts {
  let told: unknown;
  try {
    told = JSON.parse(text ?? '[]');
  } catch {
    return new Map();
  }
  return new Map(
    (Array.isArray(told) ? told : []).filter(
      (entry): entry is [string, Draft] =>
        Array.isArray(entry) && typeof entry[0] === 'string' && isDraft(entry[1]),
    ),
  );
}

export interface CameBack {
  kept: Drafts;
  dropped: readonly string[];
}

// Those whose nodes are wanted as they were when the edits were begun stay; a revision that made
// nothing else of them is nobody's contradiction.
export function sortedOut(kept: Drafts, nodes: ReadonlyMap<string, Node>): CameBack {
  const still: [string, Draft][] = [];
  const dropped: string[] = [];
  for (const [name, { base, settings }] of kept) {
    const wanted = nodes.get(name)?.wanted;
    if (wanted && differences(base, wanted).length === 0)
      still.push([name, { base: wanted, settings }]);
    else dropped.push(name);
  }
  return { kept: new Map(still), dropped };
}
