// SPDX-License-Identifier: Apache-2.0
// Where in the picture the handles lie, and how high the carriers stand.
import type { Spectrum } from '../api/types';
import type { Span } from '../model/axis';
import { gainAt, type Shown } from './curve';
import type { Box } from './labels';
import { decade, mhzOf, xOf, yOf, type Frame } from './scale';

const touch = 44; // px

// The strongest carrier stands a good way below a gain of 0 dB, so that the top of a curve is free.
export function dbmAtZero(spectrum: Spectrum): number {
  let strongest = -Infinity;
  for (const carrier of spectrum.carriers)
    for (const level of Object.values(carrier.at_nodes)) strongest = Math.max(strongest, level);
  return Number.isFinite(strongest) ? decade(strongest + 25) : 0;
}

export function windowBox(frame: Frame, [low, high]: Span): Box {
  const left = Math.max(frame.left, xOf(frame, low));
  const right = Math.min(frame.right, xOf(frame, high));
  const width = Math.max(touch, right - left);
  const middle = Math.min(
    frame.right - width / 2,
    Math.max(frame.left + width / 2, (left + right) / 2),
  );
  return { x: middle - width / 2, y: frame.top + 3, width, height: touch };
}

// A phone has room for the number only.
export const narrow = (frame: Frame): boolean => frame.width < 600;

export function gainBox(frame: Frame, { curve, window }: Shown): Box {
  const [low, high] = window ?? [mhzOf(frame, frame.left), mhzOf(frame, frame.right)];
  const left = Math.max(frame.left, xOf(frame, low));
  const right = Math.min(frame.right, xOf(frame, high));
  const width = Math.max(touch, frame.px * (narrow(frame) ? 5.5 : 8));
  const middle = Math.min(
    frame.right - width / 2,
    Math.max(frame.left + width / 2, (left + right) / 2),
  );
  // Below the line, where it hides nothing of it.
  const y = yOf(frame, gainAt(curve, (low + high) / 2)) + 4;
  return {
    x: middle - width / 2,
    y: Math.min(frame.bottom - touch, Math.max(frame.top + touch + 8, y)),
    width,
    height: touch,
  };
}
