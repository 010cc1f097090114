// SPDX-License-Identifier: Apache-2.0
// One node in a line: what is wrong with it, its gain and what it passes.
import type { JSX } from 'preact';
import { useMemo } from 'preact/hooks';
import type { Segment } from '../api/types';
import { toNode } from '../browser/route';
import type { HeardNode } from '../feed/state';
import { decibels } from '../model/format';
import { lookOf, troubles, withoutSupply } from '../model/trouble';
import { Shape } from '../ui/shape';
import { WindowStrip } from '../ui/window_strip';

interface Props {
  node: HeardNode;
  segment: Segment | null;
  open: boolean;
  calls: string;
}

function Row({ node, segment, open, calls }: Props): JSX.Element {
  const [worst, ...others] = troubles(node);
  const { seen } = node;
  const gain = !seen
    ? 'not read'
    : seen.passive || withoutSupply(node)
      ? 'passive'
      : `${decibels(seen.settings.gain_db)} dB`;
  const words = [worst?.word, ...others.map(({ word }) => word), calls].filter(Boolean).join(', ');
  return (
    <li class={`node-row ${worst?.level ?? 'calm'}`}>
      <a href={toNode(node.name)} aria-current={open ? 'true' : undefined}>
        <Shape level={worst?.level ?? 'calm'} />
        <span class="node-row-name">
          <b>{node.name}</b>
          <span class="quiet">{words || 'as wanted'}</span>
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
