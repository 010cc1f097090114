// SPDX-License-Identifier: Apache-2.0
// Where nodes hang and whom they serve, in groups, and those that a search leaves.
import type { Node } from '../api/types';
import { branchLetter, list } from './format';
import { byName, levelOf, worstFirst, type Conditioned } from './condition';

export type Grouping = 'trouble' | 'place' | 'line';

export interface Group<N> {
  name: string;
  nodes: N[];
}

export const servesWords = ({ serves }: Node): string =>
  list(serves.map(({ receiver, branch }) => `${receiver} ${branchLetter(branch)}`));

function grouped<N extends Node>(nodes: readonly N[], key: (node: N) => string): Group<N>[] {
  const groups = new Map<string, N[]>();
  for (const node of nodes) {
    const name = key(node);
    const group = groups.get(name);
    if (group) group.push(node);
    else groups.set(name, [node]);
  }
  return [...groups].map(([name, members]) => ({ name, nodes: members })).sort(byName);
}

// Whoever is in trouble, or has to be looked at.
export const needsSomebody = (one: Conditioned): boolean =>
  ['fault', 'caution'].includes(levelOf(one));

export function groupNodes<N extends Node>(nodes: readonly N[], by: Grouping): Group<N>[] {
  if (by === 'trouble') {
    const needs = nodes.filter(needsSomebody).sort(worstFirst);
    const calm = nodes.filter((node) => !needsSomebody(node)).sort(byName);
    const isOurs = (node: N): boolean => node.agreement !== 'not-ours';
    const groups = [
      { name: 'Needs you', nodes: needs },
      { name: 'As wanted', nodes: calm.filter(isOurs) },
      { name: 'Another controller’s', nodes: calm.filter((node) => !isOurs(node)) },
    ];
    return groups.filter((group) => group.nodes.length > 0);
  }
  return grouped([...nodes].sort(byName), ({ place, line }) =>
    by === 'place' ? place || 'nowhere said' : line,
  );
}

// Every word has to stand somewhere in what the page says about the node.
export function matches(node: Node, search: string): boolean {
  const words = search.toLowerCase().split(/\s+/).filter(Boolean);
  if (words.length === 0) return true;
  const settings = node.seen?.settings ?? node.wanted;
  const text = [
    node.name,
    node.hangs,
    node.line,
    node.type,
    node.uid,
    settings?.label ?? '',
    settings?.filter ?? '',
    ...node.serves.map((branch) => branch.receiver),
    ...node.conditions.map(({ word }) => word),
  ]
    .join('\n')
    .toLowerCase();
  return words.every((word) => text.includes(word));
}

export type Density = 'large' | 'middle' | 'dense';
export const densityFor = (count: number): Density =>
  count <= 12 ? 'large' : count <= 48 ? 'middle' : 'dense';
