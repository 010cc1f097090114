// SPDX-License-Identifier: Apache-2.0
// One node at a glance. Its name leads to it.
import type { JSX } from 'preact';
import { useMemo } from 'preact/hooks';
import type { Segment } from '../api/types';
import { toNode } from '../browser/route';
import type { HeardNode } from '../feed/state';
import { decibels, megahertzShort } from '../model/format';
import { servesWords, type Density } from '../model/places';
import { levelOf, lookOf } from '../model/condition';
import { Age } from '../ui/age';
import { Tag } from '../ui/shape';
import { WindowStrip, windowWords } from '../ui/window_strip';

interface Props {
  node: HeardNode;
  density: Density;
  segment: Segment | null;
  open: boolean;
  edited: boolean;
  // Alarms that the node's own state does not show, in words; a text, so that equal ones are equal.
  calls: string;
}

// Wanted beside seen, but only where they differ.
interface ValueProps {
  seen: string;
  wanted: string | undefined;
  unit: string;
}

function Value({ seen, wanted, unit }: ValueProps): JSX.Element {
  const differs = wanted !== undefined && wanted !== seen;
  return (
    <span class="value">
      <span class="figure">{seen}</span>
      {unit && <span class="unit">{unit}</span>}
      {differs && <span class="wanted">wanted {wanted}</span>}
    </span>
  );
}

function Readings({ node }: { node: HeardNode }): JSX.Element {
  const { seen } = node;
  // What is wanted says nothing of a node that another controller has.
  const wanted = node.agreement === 'not-ours' ? undefined : node.wanted;
  if (!seen) return <p class="readings none">Nothing is known of it yet.</p>;
  const { settings } = seen;
  const { passive } = seen;
  const centre = (mhz: number | undefined): string =>
    mhz === undefined ? '' : ` at ${megahertzShort(mhz)}`;
  const filter = `${settings.filter}${centre(settings.centre_mhz)}`;
  const wantedFilter = wanted && `${wanted.filter}${centre(wanted.centre_mhz)}`;
  return (
    <dl class="readings">
      <div class="gain">
        <dt>Gain</dt>
        <dd>
          {passive ? (
            <span class="value">
              <span class="figure">none</span>
              <span class="wanted">
                {decibels((wanted ?? settings).gain_db)} dB if it had power
              </span>
            </span>
          ) : (
            <Value
              seen={decibels(settings.gain_db)}
              wanted={wanted && decibels(wanted.gain_db)}
              unit="dB"
            />
          )}
        </dd>
      </div>
      <div class="window">
        <dt>Passes</dt>
        <dd>
          <span class="value">
            <span class="figure">{windowWords(node)}</span>
          </span>
        </dd>
      </div>
      <div class="filter">
        <dt>Filter</dt>
        <dd>
          <Value
            seen={passive ? 'none' : filter}
            wanted={passive ? undefined : wantedFilter}
            unit=""
          />
        </dd>
      </div>
    </dl>
  );
}

function Where({ node }: { node: HeardNode }): JSX.Element {
  const label = node.seen?.settings.label ?? node.wanted?.label;
  const serves = servesWords(node);
  return (
    <p class="where">
      <span>{node.hangs}</span>
      {(serves || label) && <span>{serves ? `serves ${serves}` : `label “${label}”`}</span>}
    </p>
  );
}

function Foot({ node }: { node: HeardNode }): JSX.Element {
  const telemetry = node.seen?.telemetry;
  return (
    <p class="foot">
      <span>{node.line}</span>
      {telemetry && (
        <span>
          {telemetry.powered
            ? `${telemetry.supply_v.toFixed(1)} V, ${telemetry.supply_ma} mA`
            : 'no supply'}
        </span>
      )}
      <Age node={node} />
    </p>
  );
}

// Of many nodes only what a line has room for is made at all.
function Card({ node, density, segment, open, edited, calls }: Props): JSX.Element {
  return (
    <article class={`card ${levelOf(node)}${open ? ' open' : ''}`}>
      <header>
        <h3>
          <a href={toNode(node.name)} aria-current={open ? 'true' : undefined}>
            {node.name}
          </a>
        </h3>
        <p class="tags">
          {node.conditions.map(({ kind, level, word }) => (
            <Tag key={kind} level={level} word={word} />
          ))}
          {calls && <Tag level="caution" word={calls} />}
          {edited && <Tag level="moving" word="edited here, not sent" />}
        </p>
      </header>
      {density !== 'dense' && <Where node={node} />}
      <Readings node={node} />
      {density !== 'dense' && <WindowStrip node={node} segment={segment} />}
      {density !== 'dense' && <Foot node={node} />}
    </article>
  );
}

// Most messages of the feed are about other nodes, and most about this one bring another reading of
// the same: the same value is the same picture. Where there is room, a reading's age is shown too.
export function NodeCard(props: Props): JSX.Element {
  const { node, density, segment, open, edited, calls } = props;
  const shown = density === 'dense' ? lookOf(node) : node;
  return useMemo(() => <Card {...props} />, [shown, density, segment, open, edited, calls]);
}
