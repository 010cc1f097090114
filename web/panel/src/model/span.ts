// SPDX-License-Identifier: Apache-2.0
// The stretch of spectrum that a show uses, so that all windows are drawn on one scale.
import type { Segment } from '../api/types';

export type Span = readonly [number, number];

export function spanOf(segments: readonly Segment[]): Span | null {
  let low = Infinity;
  let high = -Infinity;
  for (const segment of segments) {
    for (const lane of segment.lanes) {
      low = Math.min(low, lane.band_mhz[0] ?? low);
      high = Math.max(high, lane.band_mhz[1] ?? high);
    }
    for (const carrier of segment.carriers) {
      const half = carrier.bandwidth_khz / 2000;
      low = Math.min(low, carrier.frequency_mhz - half);
      high = Math.max(high, carrier.frequency_mhz + half);
    }
  }
  return low < high ? [low, high] : null;
}

// From 0 to 1 within the span; what lies outside ends at its edge.
export const within = (mhz: number, [low, high]: Span): number =>
  Math.min(1, Math.max(0, (mhz - low) / (high - low)));
