// SPDX-License-Identifier: Apache-2.0
// Which node stands in front: a search that leaves fewer, and a list.
import { computed, useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { drafts } from '../edit/drafts';
import type { HeardNode } from '../feed/state';
import { plural } from '../model/format';
import { matches } from '../model/places';
import { levelOf } from '../model/condition';
import { Picture } from '../ui/shape';

interface Props {
  nodes: readonly HeardNode[];
  chosen: string;
  disabled: boolean;
  onChoose: (name: string) => void;
}

// Which nodes are edited, and not how: that changes with every frame while a window is drawn along.
const edited = computed(() => [...drafts.value.keys()].sort().join('\n'));

function said(node: HeardNode, isEdited: boolean): string {
  const level = levelOf(node);
  return [
    node.name,
    ...(isEdited ? ['edited, not sent'] : []),
    ...(level === 'fault' ? ['in trouble'] : level === 'caution' ? ['somebody has to look'] : []),
  ].join(' – ');
}

export function ChooseNode({ nodes, chosen, disabled, onChoose }: Props): JSX.Element {
  const search = useSignal('');
  const withDraft = new Set(edited.value.split('\n'));
  const found = nodes.filter((node) => matches(node, search.value));
  const listed = nodes.filter((node) => node.name === chosen || found.includes(node));
  return (
    <>
      <label class="search">
        <span class="unseen">Search a node by name, place, line, label or state</span>
        <Picture of="search" />
        <input
          type="search"
          placeholder="Search a node"
          value={search.value}
          disabled={disabled}
          onInput={(event) => void (search.value = event.currentTarget.value)}
          onKeyDown={(event) => {
            const first = found[0];
            if (event.key === 'Enter' && first) onChoose(first.name);
          }}
        />
      </label>
      <select
        class="choose"
        aria-label="Node in front"
        value={chosen}
        disabled={disabled}
        onChange={(event) => onChoose(event.currentTarget.value)}
      >
        {listed.map((node) => (
          <option key={node.name} value={node.name}>
            {said(node, withDraft.has(node.name))}
          </option>
        ))}
      </select>
      <p class="unseen" role="status">
        {search.value &&
          `${plural(found.length, 'node')} found; Enter takes ${found[0]?.name ?? 'none'}`}
      </p>
    </>
  );
}
