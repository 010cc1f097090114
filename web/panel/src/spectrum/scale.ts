// SPDX-License-Identifier: Apache-2.0
// What of the spectrum is in sight, and how it is moved and stretched: places on the axis
// (model/axis.ts), which are MHz within a band in use. It never leaves the axis, and never gets
// narrower than `narrowest`.
import { toAxis, toMhz, type Axis, type Span } from '../model/axis';

export const narrowest = 1; // MHz

export function held([low, high]: Span, full: Span): Span {
  const width = Math.min(full[1] - full[0], Math.max(narrowest, high - low));
  const start = Math.min(full[1] - width, Math.max(full[0], low));
  return [start, start + width];
}

// A factor of 2 shows half as much. What is at `around` stays where it is.
export function zoomed(sight: Span, full: Span, factor: number, around: number): Span {
  const whole = full[1] - full[0];
  const width = Math.min(whole, Math.max(narrowest, (sight[1] - sight[0]) / factor));
  const share = (around - sight[0]) / (sight[1] - sight[0]);
  const low = around - share * width;
  return held([low, low + width], full);
}

export const panned = ([low, high]: Span, full: Span, by: number): Span =>
  held([low + by, high + by], full);

// Two fingers: what was under each of them goes with it.
export function pinched(
  before: Span,
  full: Span,
  from: readonly [number, number],
  to: readonly [number, number],
): Span {
  const at = (share: number): number => before[0] + share * (before[1] - before[0]);
  const apart = Math.max(0.02, Math.abs(to[1] - to[0]));
  const factor = apart / Math.max(0.02, Math.abs(from[1] - from[0]));
  const middle = (from[0] + from[1]) / 2;
  const [low, high] = zoomed(before, full, factor, at(middle));
  return panned([low, high], full, (middle - (to[0] + to[1]) / 2) * (high - low));
}

// Round values, at most so many, at steps of 1, 2 or 5 times a power of ten.
export function ticks([low, high]: Span, most: number): number[] {
  const raw = (high - low) / Math.max(1, most);
  const power = 10 ** Math.floor(Math.log10(raw));
  const step = power * ([1, 2, 5, 10].find((round) => round * power >= raw * (1 - 1e-9)) ?? 10);
  const found: number[] = [];
  for (let i = Math.ceil(low / step - 1e-9); i * step <= high + 1e-9 * step; ++i)
    found.push(Number((i * step).toFixed(6)));
  return found;
}

// Round frequencies in sight, none in a gap.
export function marks({ axis, sight }: Frame, most: number): number[] {
  const raw = (sight[1] - sight[0]) / Math.max(1, most);
  return axis.stretches
    .filter(({ gap, at, length }) => !gap && at < sight[1] && at + length > sight[0])
    .flatMap(({ from, to, at, length }) => {
      const low = Math.max(from, toMhz(axis, Math.max(at, sight[0])));
      const high = Math.min(to, toMhz(axis, Math.min(at + length, sight[1])));
      return high > low ? ticks([low, high], Math.max(1, Math.floor((high - low) / raw))) : [];
    });
}

export const decade = (value: number): number => Math.ceil(value / 10) * 10;

// The picture's rectangle, CSS px, and what is in sight. `top` belongs to the lanes' names.
export interface Frame {
  width: number;
  height: number;
  left: number;
  right: number;
  top: number;
  bottom: number;
  // Size of text.
  px: number;
  axis: Axis;
  sight: Span;
  // Level at the height of a gain of 0 dB, dBm: one dB is as high on both scales.
  dbm_at_zero: number;
}

// Gains in sight, dB.
export const gains: Span = [-68, 32];

// As wide as its place; text as large as the page's, but on a phone never so large that it fills
// the picture. `em`: the page's text against its usual size.
export function frameOf(
  width: number,
  height: number,
  em: number,
  axis: Axis,
  sight: Span,
  dbm_at_zero: number,
): Frame {
  const px = 12 * Math.min(em, width < 600 ? 1.25 : 2);
  return {
    width,
    height,
    left: Math.round(px * 2.9),
    right: width - Math.round(px * 3.1),
    top: Math.round(px * 3.2),
    bottom: height - Math.round(px * 2),
    px,
    axis,
    sight,
    dbm_at_zero,
  };
}

export const xOf = (frame: Frame, mhz: number): number =>
  frame.left +
  ((toAxis(frame.axis, mhz) - frame.sight[0]) / (frame.sight[1] - frame.sight[0])) *
    (frame.right - frame.left);
export const placeOf = (frame: Frame, x: number): number =>
  frame.sight[0] +
  ((x - frame.left) / (frame.right - frame.left)) * (frame.sight[1] - frame.sight[0]);
export const mhzOf = (frame: Frame, x: number): number => toMhz(frame.axis, placeOf(frame, x));
export const yOf = (frame: Frame, db: number): number =>
  frame.top + ((gains[1] - db) / (gains[1] - gains[0])) * (frame.bottom - frame.top);
export const yOfLevel = (frame: Frame, dbm: number): number =>
  Math.min(frame.bottom, Math.max(frame.top, yOf(frame, dbm - frame.dbm_at_zero)));
export const dbPerPixel = (frame: Frame): number =>
  (gains[1] - gains[0]) / (frame.bottom - frame.top);
// Within a band in use.
export const mhzPerPixel = (frame: Frame): number =>
  (frame.sight[1] - frame.sight[0]) / (frame.right - frame.left);
