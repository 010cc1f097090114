// SPDX-License-Identifier: Apache-2.0
// Edits that are not sent, as a tab keeps them while its page is loaded anew.
export interface Draft<Settings> {
  // What was wanted when it was begun.
  readonly base: Settings & Revised;
  readonly settings: Settings;
}
export interface Revised {
  readonly revision: number;
}
export type Drafts<Settings> = ReadonlyMap<string, Draft<Settings>>;

// How settings of a kind are compared and put together.
export interface Kind<Settings> {
  isSettings: (told: unknown) => told is Settings;
  // Only what is really otherwise; an object without members: nothing.
  patchOf: (base: Settings, settings: Settings) => object;
  onto: (newer: Settings, patch: object) => Settings;
}

export const written = <Settings>(drafts: Drafts<Settings>): string | null =>
  drafts.size > 0 ? JSON.stringify([...drafts]) : null;

const isObject = (told: unknown): told is Record<string, unknown> =>
  typeof told === 'object' && told !== null;
const isDraft = <Settings>(told: unknown, kind: Kind<Settings>): told is Draft<Settings> =>
  isObject(told) &&
  kind.isSettings(told['settings']) &&
  kind.isSettings(told['base']) &&
  typeof (told['base'] as Partial<Revised>).revision === 'number';

// What is no draft, as an older page may have kept it, is left out.
export function read<Settings>(text: string | null, kind: Kind<Settings>): Drafts<Settings> {
  let told: unknown;
  try {
    told = JSON.parse(text ?? '[]');
  } catch {
    return new Map();
  }
  return new Map(
    (Array.isArray(told) ? told : []).filter(
      (entry): entry is [string, Draft<Settings>] =>
        Array.isArray(entry) && typeof entry[0] === 'string' && isDraft(entry[1], kind),
    ),
  );
}

export interface CameBack<Settings> {
  kept: Drafts<Settings>;
  dropped: readonly string[];
}
type Wanting<Settings> = ReadonlyMap<string, { wanted?: Settings & Revised }>;

// Those whose nodes are wanted as they were when the edits were begun stay; a revision that made
// nothing else of them is nobody's contradiction.
export function sortedOut<Settings>(
  kept: Drafts<Settings>,
  now: Wanting<Settings>,
  { patchOf }: Kind<Settings>,
): CameBack<Settings> {
  const still: [string, Draft<Settings>][] = [];
  const dropped: string[] = [];
  for (const [name, { base, settings }] of kept) {
    const wanted = now.get(name)?.wanted;
    if (wanted && Object.keys(patchOf(base, wanted)).length === 0)
      still.push([name, { base: wanted, settings }]);
    else dropped.push(name);
  }
  return { kept: new Map(still), dropped };
}
