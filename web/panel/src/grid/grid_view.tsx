// SPDX-License-Identifier: Apache-2.0
// Every node, and the one that is open beside them.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { activeSegment, span } from '../feed/show';
import { state } from '../feed/store';
import { onlyInAlarms } from '../model/alarms';
import { plural } from '../model/format';
import { densityFor, groupNodes, matches, type Grouping } from '../model/places';
import { levelOf } from '../model/trouble';
import { drafts } from '../node/drafts';
import { NodePanel } from '../node/node_panel';
import { route } from '../route';
import { grouping } from '../settings_kept';
import { OneOf } from '../ui/fields';
import { Picture, Shape, Tag } from '../ui/shape';
import { NodeCard } from './node_card';

const groupings: readonly { value: Grouping; title: string }[] = [
  { value: 'trouble', title: 'Trouble first' },
  { value: 'place', title: 'By place' },
  { value: 'line', title: 'By line' },
];

function LineTrouble({ name }: { name: string }): JSX.Element | null {
  const line = state.value.lines.find((one) => one.name === name);
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

export function GridView(): JSX.Element {
  const search = useSignal('');
  const nodes = [...state.value.nodes.values()];
  const found = nodes.filter((node) => matches(node, search.value));
  const groups = groupNodes(found, grouping.value);
  const open = route.value.node;
  const density =
    open !== undefined && densityFor(nodes.length) === 'large'
      ? 'middle'
      : densityFor(nodes.length);
  const inTrouble = nodes.filter((node) => levelOf(node) === 'fault').length;
  return (
    <div class={open === undefined ? 'beside' : 'beside opened'}>
      <section class={`nodes ${density}`} aria-label="Nodes">
        <div class="tools">
          <h1>Grid</h1>
          <p class="summary">
            {inTrouble > 0 && <Shape level="fault" />}
            {plural(nodes.length, 'node')}
            {inTrouble > 0 && `, ${inTrouble} in trouble`}
          </p>
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
            title="Sorted"
            value={grouping.value}
            choices={groupings}
            onChoose={(by) => void (grouping.value = by)}
          />
        </div>
        <p class="unseen" role="status">
          {search.value && `${found.length} of ${nodes.length} nodes`}
        </p>
        {groups.length === 0 && (
          <p class="none">No node has “{search.value}” in its name, place, line, label or state.</p>
        )}
        {groups.map((group) => (
          <section key={group.name} class="group" aria-label={group.name}>
            <h2>
              {group.name} <span class="quiet">{group.nodes.length}</span>
            </h2>
            {grouping.value === 'line' && <LineTrouble name={group.name} />}
            <div class="cards">
              {group.nodes.map((node) => (
                <NodeCard
                  key={node.name}
                  node={node}
                  density={density}
                  segment={activeSegment.value}
                  span={span.value}
                  open={node.name === open}
                  edited={drafts.value.has(node.name)}
                  calls={onlyInAlarms(node.name, state.value.alarms).join(', ')}
                />
              ))}
            </div>
          </section>
        ))}
      </section>
      {open !== undefined && <NodePanel key={open} name={open} />}
    </div>
  );
}
