// SPDX-License-Identifier: Apache-2.0
// The axis of frequency that everything is drawn on. Bands in use are drawn to scale, one MHz as wide
// as any other; a wide gap between them is drawn as a gap, so that one link far above the rest does
// not leave them a tenth of the picture.
import type { Segment } from '../api/types';

// MHz: low, high.
export type Span = readonly [number, number];

// A stretch of the axis: `from` to `to` in MHz, `at` to `at + length` on the axis.
export interface Stretch {
  readonly from: number;
  readonly to: number;
  readonly at: number;
  readonly length: number;
  readonly gap: boolean;
}
// Stretches follow each other without a hole. Places on the axis are counted in MHz of bands in use.
export interface Axis {
  readonly stretches: readonly Stretch[];
  readonly length: number;
}

const widestUnbroken = 50; // MHz
const gapShare = 0.06; // of all bands in use
const edgeShare = 0.05;

// Closed lanes are not in use: they may reach over everything that is not ours.
function bandsInUse(segments: readonly Segment[]): Span[] {
  const bands: Span[] = segments.flatMap(({ lanes, carriers }) => [
    ...lanes
      .filter(({ purpose }) => purpose !== 'closed')
      .map(({ band_mhz }): Span => [band_mhz[0] ?? 0, band_mhz[1] ?? 0]),
    ...carriers.map(({ frequency_mhz, bandwidth_khz }): Span => {
      const half = Math.max(0.5, bandwidth_khz / 2000);
      return [frequency_mhz - half, frequency_mhz + half];
    }),
  ]);
  const merged: [number, number][] = [];
  for (const [low, high] of bands.sort((a, b) => a[0] - b[0])) {
    const last = merged[merged.length - 1];
    if (last && low - last[1] <= widestUnbroken) last[1] = Math.max(last[1], high);
    else merged.push([low, high]);
  }
  return merged;
}

// Null: the show uses nothing.
export function axisOf(segments: readonly Segment[]): Axis | null {
  const bands = bandsInUse(segments);
  if (bands.length === 0) return null;
  const used = bands.reduce((sum, [low, high]) => sum + high - low, 0);
  // Some of what is beside a band is seen with it.
  const edge = Math.min(widestUnbroken / 3, Math.max(1, used * edgeShare));
  const stretches: Stretch[] = [];
  let at = 0;
  const add = (from: number, to: number, length: number, gap: boolean): void => {
    stretches.push({ from, to, at, length, gap });
    at += length;
  };
  bands.forEach(([low, high], i) => {
    const before = stretches[stretches.length - 1];
    if (i > 0 && before) add(before.to, low - edge, Math.max(2, used * gapShare), true);
    add(low - edge, high + edge, high - low + 2 * edge, false);
  });
  return { stretches, length: at };
}

// Nothing is broken.
export const plainAxis = ([low, high]: Span): Axis => ({
  stretches: [{ from: low, to: high, at: 0, length: high - low, gap: false }],
  length: high - low,
});

export function toAxis({ stretches, length }: Axis, mhz: number): number {
  for (const { from, to, at, length: wide } of stretches)
    if (mhz < to) return mhz < from ? at + (mhz - from) : at + ((mhz - from) / (to - from)) * wide;
  return length + mhz - (stretches[stretches.length - 1]?.to ?? 0);
}

export function toMhz({ stretches, length }: Axis, place: number): number {
  for (const { from, to, at, length: wide } of stretches)
    if (place < at + wide)
      return place < at ? from + (place - at) : from + ((place - at) / wide) * (to - from);
  return (stretches[stretches.length - 1]?.to ?? 0) + place - length;
}

// From 0 to 1 along the axis; what lies outside ends at its edge.
export const along = (axis: Axis, mhz: number): number =>
  Math.min(1, Math.max(0, toAxis(axis, mhz) / axis.length));
