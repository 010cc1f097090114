// SPDX-License-Identifier: Apache-2.0
// Where a key moves a slider to, as the ARIA Authoring Practices have it: arrows a step, Page keys
// a large one, Home and End to the ends. null: the key is for somebody else.
import type { Steps } from '../api/types';
import { snap } from '../model/settings';

export function slid(key: string, value: number, steps: Steps, large: number): number | null {
  const step = steps.step > 0 ? steps.step : large / 10;
  const by: Record<string, number> = {
    ArrowRight: step,
    ArrowUp: step,
    ArrowLeft: -step,
    ArrowDown: -step,
    PageUp: large,
    PageDown: -large,
  };
  if (key === 'Home') return steps.lowest;
  if (key === 'End') return snap(steps.highest, steps);
  const move = by[key];
  return move === undefined ? null : snap(value + move, steps);
}
