// SPDX-License-Identifier: Apache-2.0
// Every node, and the one that is open beside them.
import { useSignal, type Signal } from '@preact/signals';
import type { ComponentProps, JSX } from 'preact';
import { route } from '../browser/route';
import { grouping, shownAs } from '../browser/settings_kept';
import { drafts } from '../edit/drafts';
import { activeSegment } from '../feed/show';
import type { HeardNode } from '../feed/state';
import { state } from '../feed/store';
import { onlyInAlarms } from '../model/alarms';
import { plural } from '../model/format';
import {
  densityFor,
  groupNodes,
  matches,
  needsSomebody,
  type Density,
  type Group,
  type Grouping,
} from '../model/places';
import { levelOf } from '../model/condition';
import { NodePanel } from '../node/node_panel';
import { OneOf } from '../ui/fields';
import { Picture, Shape, Tag } from '../ui/shape';
import { BringBack } from './bring_back';
import { NodeCard } from './node_card';
import { NodeRow } from './node_row';

const groupings: readonly { value: Grouping; title: string }[] = [
  { value: 'trouble', title: 'Trouble first' },
  { value: 'place', title: 'By place' },
  { value: 'line', title: 'By line' },
];

const manners = [
  { value: 'tiles', title: 'Tiles' },
  { value: 'list', title: 'List' },
] as const;

function LineTrouble({ name }: { name: string }): JSX.Element | null {
  const line = state.value.lines.find((candidate) => candidate.name === name);
  if (!line || (line.up && !line.trouble)) return null;
  return (
    <p class="line-trouble">
      <Tag
        level={line.up ? 'caution' : 'fault'}
        word={line.up ? 'trouble on the line' : 'line down'}
      />
      <span>{line.up ? line.trouble : line.reason}</span>
    </p>
  );
}

function Tools({ search }: { search: Signal<string> }): JSX.Element {
  const nodes = [...state.value.nodes.values()];
  const needing = nodes.filter(needsSomebody);
  const worst = needing.some((node) => levelOf(node) === 'fault') ? 'fault' : 'caution';
  return (
    <div class="tools">
      <h1>Grid</h1>
      <p class="summary">
        {needing.length > 0 && <Shape level={worst} />}
        {plural(nodes.length, 'node')}
        {needing.length > 0 && `, ${needing.length} ${needing.length === 1 ? 'needs' : 'need'} you`}
      </p>
      <BringBack />
      <span class="spring" />
      <label class="search">
        <span class="unseen">Search by name, place, line, label or state</span>
        <Picture of="search" />
        <input
          type="search"
          placeholder="Search"
          value={search.value}
          onInput={(event) => void (search.value = event.currentTarget.value)}
        />
      </label>
      <OneOf
        title="Shown"
        value={shownAs.value}
        choices={manners}
        onChoose={(as) => void (shownAs.value = as)}
      />
      <OneOf
        title="Sorted"
        value={grouping.value}
        choices={groupings}
        onChoose={(by) => void (grouping.value = by)}
      />
    </div>
  );
}

interface GroupProps {
  group: Group<HeardNode>;
  density: Density;
  open: string | undefined;
}

function GroupPart({ group, density, open }: GroupProps): JSX.Element {
  const shared = (node: HeardNode): ComponentProps<typeof NodeRow> => ({
    node,
    segment: activeSegment.value,
    open: node.name === open,
    calls: onlyInAlarms(node, state.value.alarms),
  });
  return (
    <section class="group" aria-label={group.name}>
      <h2>
        {group.name} <span class="quiet">{group.nodes.length}</span>
      </h2>
      {grouping.value === 'line' && <LineTrouble name={group.name} />}
      {shownAs.value === 'list' ? (
        <ul class="node-rows">
          {group.nodes.map((node) => (
            <NodeRow key={node.name} {...shared(node)} />
          ))}
        </ul>
      ) : (
        <div class="cards">
          {group.nodes.map((node) => (
            <NodeCard
              key={node.name}
              {...shared(node)}
              density={density}
              edited={drafts.value.has(node.name)}
            />
          ))}
        </div>
      )}
    </section>
  );
}

export function GridView(): JSX.Element {
  const search = useSignal('');
  const nodes = [...state.value.nodes.values()];
  const found = nodes.filter((node) => matches(node, search.value));
  const groups = groupNodes(found, grouping.value);
  const open = route.value.node;
  const room = densityFor(nodes.length);
  const density = open !== undefined && room === 'large' ? 'middle' : room;
  return (
    <div class={open === undefined ? 'beside' : 'beside opened'}>
      <section class={`nodes ${density}`} aria-label="Nodes">
        <Tools search={search} />
        <p class="unseen" role="status">
          {search.value ? `${found.length} of ${nodes.length} nodes` : null}
        </p>
        {groups.length === 0 && (
          <p class="none">No node has “{search.value}” in its name, place, line, label or state.</p>
        )}
        {groups.map((group) => (
          <GroupPart key={group.name} group={group} density={density} open={open} />
        ))}
      </section>
      {open !== undefined && <NodePanel key={open} name={open} />}
    </div>
  );
}
