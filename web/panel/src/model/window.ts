// SPDX-License-Identifier: Apache-2.0
// What a node's window does to a carrier, as the daemon's rules have it: its skirts neither surely
// pass nor surely reject.
import type { Carrier } from '../api/types';
import type { Span } from './axis';

export interface Window {
  readonly passband_mhz: Span;
  readonly skirt_mhz: number;
}
// Null: without a filter everything is passed.
export type Passing = Window | null;

export interface ToldWindow {
  passband_mhz?: number[];
  skirt_mhz?: number;
}
export const windowOf = (told: ToldWindow): Passing =>
  told.passband_mhz
    ? {
        passband_mhz: [told.passband_mhz[0] ?? 0, told.passband_mhz[1] ?? 0],
        skirt_mhz: told.skirt_mhz ?? 0,
      }
    : null;

type Band = Pick<Carrier, 'frequency_mhz' | 'bandwidth_khz'>;

// All of it lies in the window without its skirts.
export function isPassed(window: Passing, { frequency_mhz, bandwidth_khz }: Band): boolean {
  if (!window) return true;
  const half = bandwidth_khz / 2000;
  const { passband_mhz: [low, high], skirt_mhz } = window;
  return frequency_mhz - half >= low + skirt_mhz && frequency_mhz + half <= high - skirt_mhz;
}

// Some of it lies in the window with its skirts.
export function isLetIn(window: Passing, { frequency_mhz, bandwidth_khz }: Band): boolean {
  if (!window) return true;
  const half = bandwidth_khz / 2000;
  const { passband_mhz: [low, high], skirt_mhz } = window;
  return frequency_mhz + half > low - skirt_mhz && frequency_mhz - half < high + skirt_mhz;
}
