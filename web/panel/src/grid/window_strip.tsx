// SPDX-License-Identifier: Apache-2.0
// What an antenna passes, on the scale of the whole show: its window as a block, microphones as
// strokes above the line, the show's own transmitters as strokes with a foot below it, closed lanes
// hatched.
import type { JSX } from 'preact';
import type { Node, Segment } from '../api/types';
import { band, plural } from '../model/format';
import { within, type Span } from '../model/span';
import { withoutSupply } from '../model/trouble';

const width = 1000;

interface Props {
  node: Node;
  segment: Segment | null;
  span: Span | null;
}

function passbandOf(node: Node): readonly number[] | 'all' | null {
  if (!node.seen) return null;
  if (node.seen.passive || withoutSupply(node)) return 'all';
  return node.seen.passband_mhz ?? 'all';
}

export function windowWords(node: Node): string {
  const passband = passbandOf(node);
  return passband === null ? 'not known' : passband === 'all' ? 'everything' : band(passband);
}

// Does the node serve one of these receivers?
const concerns = (node: Node, receivers: readonly string[]): boolean =>
  node.serves.some((branch) => receivers.includes(branch.receiver));

export function WindowStrip({ node, segment, span }: Props): JSX.Element | null {
  if (!span) return null;
  const x = (mhz: number): number => within(mhz, span) * width;
  const passband = passbandOf(node);
  const from = passband === 'all' ? 0 : x(passband?.[0] ?? 0);
  const to = passband === 'all' ? width : x(passband?.[1] ?? 0);
  const carriers = segment?.carriers ?? [];
  const receive = carriers.filter((carrier) => carrier.use === 'receive');
  const served = receive.filter((carrier) => concerns(node, carrier.receivers));
  const transmit = carriers.filter((carrier) => carrier.use === 'transmit');
  const inside = (mhz: number): boolean =>
    passband === 'all' ||
    (passband !== null && mhz >= (passband[0] ?? 0) && mhz <= (passband[1] ?? 0));
  const outside = served.filter((carrier) => !inside(carrier.frequency_mhz));
  const sentIn = transmit.filter((carrier) => inside(carrier.frequency_mhz)).length;
  const words =
    `Passes ${windowWords(node)}. ${plural(outside.length, 'served carrier')} outside. ` +
    `${plural(sentIn, 'transmitter')} inside.`;
  return (
    <svg
      class="window-strip"
      viewBox={`0 0 ${width} 40`}
      preserveAspectRatio="none"
      role="img"
      aria-label={words}
    >
      {segment?.lanes
        .filter((lane) => lane.purpose === 'closed')
        .map((lane) => (
          <rect
            key={lane.name}
            class="closed"
            x={x(lane.band_mhz[0] ?? 0)}
            width={x(lane.band_mhz[1] ?? 0) - x(lane.band_mhz[0] ?? 0)}
            y="4"
            height="32"
          />
        ))}
      {passband !== null && (
        <rect class="passband" x={from} width={Math.max(2, to - from)} y="4" height="32" />
      )}
      <path class="axis" d={`M0 22H${width}`} />
      {receive.map((carrier) => (
        <path
          key={carrier.name}
          class={
            outside.includes(carrier)
              ? 'receive outside'
              : served.includes(carrier)
                ? 'receive'
                : 'receive other'
          }
          d={`M${x(carrier.frequency_mhz).toFixed(1)} 22V7`}
        />
      ))}
      {transmit.map((carrier) => (
        <path
          key={carrier.name}
          class={inside(carrier.frequency_mhz) ? 'transmit inside' : 'transmit'}
          d={`M${x(carrier.frequency_mhz).toFixed(1)} 22v12m-4 0h8`}
        />
      ))}
    </svg>
  );
}
