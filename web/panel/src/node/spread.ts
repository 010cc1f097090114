// SPDX-License-Identifier: Apache-2.0
// Labels at the right edge that would stand on each other are moved apart, in their order.
export function spread(wanted: readonly number[], least: number): number[] {
  const placed = [...wanted];
  for (let i = 1; i < placed.length; ++i) placed[i] = Math.max(placed[i]!, placed[i - 1]! + least);
  return placed;
}
