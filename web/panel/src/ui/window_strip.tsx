// SPDX-License-Identifier: Apache-2.0
// What an antenna passes, on the scale of the whole show: its window as a block, microphones as
// strokes above the line, the show's own transmitters as strokes with a foot below it, closed lanes
// hatched.
import type { JSX } from 'preact';
import { useMemo } from 'preact/hooks';
import type { Carrier, Node, Segment } from '../api/types';
import { axis } from '../feed/show';
import { along, type Axis } from '../model/axis';
import { band, plural } from '../model/format';
import { windowOf, type Passing } from '../model/window';

const width = 1000;

interface Props {
  node: Node;
  segment: Segment | null;
}

// Undefined: it was not read yet.
type Seen = Passing | undefined;

const seenOf = ({ seen }: Node): Seen => seen && windowOf(seen);
const seenWords = (seen: Seen): string =>
  seen === undefined ? 'not known' : seen ? band(seen) : 'everything';
export const windowWords = (node: Node): string => seenWords(seenOf(node));

interface Drawn {
  seen: Seen;
  told: Node['carriers'];
  segment: Segment | null;
  scale: Axis;
}

const microphone = 'V7';
const transmitter = 'v12m-4 0h8';

type Sort = 'others' | 'heard' | 'outside' | 'keptOut' | 'sentIn';

// Carriers by what the antenna makes of them, as the daemon says.
function sorted({ told, segment }: Drawn): Record<Sort, readonly Carrier[]> {
  const carriers = segment?.carriers ?? [];
  const own = new Set(told.own);
  // What was not read is not known to pass any.
  const outside = new Set(told.outside ?? told.own);
  const letIn = new Set(told.let_in);
  const receive = carriers.filter(({ use }) => use === 'receive');
  const transmit = carriers.filter(({ use }) => use === 'transmit');
  return {
    others: receive.filter(({ name }) => !own.has(name)),
    heard: receive.filter(({ name }) => own.has(name) && !outside.has(name)),
    outside: receive.filter(({ name }) => outside.has(name)),
    keptOut: transmit.filter(({ name }) => !letIn.has(name)),
    sentIn: transmit.filter(({ name }) => letIn.has(name)),
  };
}

function Ground({ seen, segment, scale }: Drawn): JSX.Element {
  const x = (mhz: number): number => along(scale, mhz) * width;
  const [low, high] = seen ?? [0, Infinity];
  return (
    <>
      {segment?.lanes
        .filter(({ purpose }) => purpose === 'closed')
        .map(({ name, band_mhz: [from = 0, to = 0] }) => (
          <rect key={name} class="closed" x={x(from)} width={x(to) - x(from)} y="4" height="32" />
        ))}
      {seen !== undefined && (
        <rect class="passband" x={x(low)} width={Math.max(2, x(high) - x(low))} y="4" height="32" />
      )}
      <path class="axis" d={`M0 22H${width}`} />
      {scale.stretches
        .filter(({ gap }) => gap)
        .map(({ from, to }) => (
          <rect key={from} class="gap" x={x(from)} width={x(to) - x(from)} y="0" height="40" />
        ))}
    </>
  );
}

// All strokes of a kind are one path: 256 strips of 120 carriers each must stay light.
function Strip(drawn: Drawn): JSX.Element {
  const { others, heard, outside, keptOut, sentIn } = sorted(drawn);
  const strokes = (carriers: readonly Carrier[], shape: string): string =>
    carriers
      .map(({ frequency_mhz }) => (along(drawn.scale, frequency_mhz) * width).toFixed(1))
      .map((x) => `M${x} 22${shape}`)
      .join('');
  return (
    <svg
      class="window-strip"
      viewBox={`0 0 ${width} 40`}
      preserveAspectRatio="none"
      role="img"
      aria-label={
        `Passes ${seenWords(drawn.seen)}. ` +
        `${plural(outside.length, 'served carrier')} outside. ` +
        `${plural(sentIn.length, 'transmitter')} inside.`
      }
    >
      <Ground {...drawn} />
      <path class="receive other" d={strokes(others, microphone)} />
      <path class="receive" d={strokes(heard, microphone)} />
      <path class="receive outside" d={strokes(outside, microphone)} />
      <path class="transmit" d={strokes(keptOut, transmitter)} />
      <path class="transmit inside" d={strokes(sentIn, transmitter)} />
    </svg>
  );
}

// Readings come every second; what is drawn of them changes seldom.
export function WindowStrip({ node, segment }: Props): JSX.Element | null {
  const scale = axis.value;
  const drawn = { seen: seenOf(node), told: node.carriers };
  const same = JSON.stringify(drawn);
  return useMemo(
    () => scale && <Strip {...drawn} segment={segment} scale={scale} />,
    [same, segment, scale],
  );
}
