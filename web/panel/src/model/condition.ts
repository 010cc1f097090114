// SPDX-License-Identifier: Apache-2.0
// What the daemon says of a node or a matrix in a word or two, and how they are put in order by it.
import type { Node } from '../api/types';
import { keptFor } from './kept';

export type Level = Node['conditions'][number]['level'];
const order: readonly Level[] = ['fault', 'caution', 'moving', 'calm'];

// A node, or a matrix.
export type Conditioned = Pick<Node, 'name' | 'conditions'>;
export type Agreement = Node['agreement'];
export interface Read {
  readonly seen?: Pick<NonNullable<Node['seen']>, 'age_ms' | 'quality'>;
}

export function ageOf({ seen, heard }: Read & { heard: number }, now: number): number | null {
  return seen ? seen.age_ms + Math.max(0, now - heard) : null;
}

// `staleAfterMs`: of the rack. A reading that nobody has renewed grows old here as it does there.
export const isOld = (node: Read, ageMs: number | null, staleAfterMs: number): boolean =>
  ageMs === null || node.seen?.quality === 'stale' || ageMs > staleAfterMs;

// Everything of a node that a line in a list shows; equal for readings that differ in figures of its
// supply and in age only.
export const lookOf = keptFor((node: Node): string =>
  JSON.stringify([
    node.conditions,
    node.wanted,
    node.seen?.settings,
    node.seen?.passband_mhz,
    node.seen?.passive,
    node.serves,
    node.carriers,
  ]),
);

export const levelOf = ({ conditions }: Pick<Conditioned, 'conditions'>): Level =>
  conditions[0]?.level ?? 'calm';

export const worstFirst = (a: Conditioned, b: Conditioned): number =>
  order.indexOf(levelOf(a)) - order.indexOf(levelOf(b)) || byName(a, b);

// pontoon-2 before pontoon-10.
const names = new Intl.Collator('en', { numeric: true });
export const byName = (a: { name: string }, b: { name: string }): number =>
  names.compare(a.name, b.name);
