// SPDX-License-Identifier: Apache-2.0
// One node in a line: what is wrong with it, its gain and what it passes.
import type { JSX } from 'preact';
import { useMemo } from 'preact/hooks';
import type { Segment } from '../api/types';
import { toNode } from '../browser/route';
import type { HeardNode } from '../feed/state';
import { decibels } from '../model/format';
import { levelOf, lookOf } from '../model/condition';
import { Shape } from '../ui/shape';
import { WindowStrip } from '../ui/window_strip';

interface Props {
  node: HeardNode;
  segment: Segment | null;
  open: boolean;
  calls: string;
}

function Row({ node, segment, open, calls }: Props): JSX.Element {
  const { seen, conditions } = node;
  const level = levelOf(node);
  const gain = !seen
    ? 'not read'
    : seen.passive
      ? 'passive'
      : `${decibels(seen.settings.gain_db)} dB`;
  const words = [...conditions.map(({ word }) => word), calls].filter(Boolean).join(', ');
  return (
    <li class={`node-row ${level}`}>
      <a href={toNode(node.name)} aria-current={open ? 'true' : undefined}>
        <Shape level={level} />
        <span class="node-row-name">
          <b>{node.name}</b>
          <span class="quiet">{words}</span>
        </span>
        <span class="node-row-gain steady">{gain}</span>
        <WindowStrip node={node} segment={segment} />
      </a>
    </li>
  );
}

export function NodeRow(props: Props): JSX.Element {
  const { node, segment, open, calls } = props;
  return useMemo(() => <Row {...props} />, [lookOf(node), segment, open, calls]);
}
