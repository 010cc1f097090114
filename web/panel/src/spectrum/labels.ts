// SPDX-License-Identifier: Apache-2.0
// Words in a picture that would stand on each other are left out; the first ones matter most.

export interface Box {
  x: number;
  y: number;
  width: number;
  height: number;
}

const apart = (a: Box, b: Box): boolean =>
  a.x + a.width <= b.x || b.x + b.width <= a.x || a.y + a.height <= b.y || b.y + b.height <= a.y;

// Indices of those that have room, `taken` and each other considered, between left and right.
export function withRoom(
  wanted: readonly Box[],
  taken: readonly Box[],
  left: number,
  right: number,
): number[] {
  const placed = [...taken];
  const found: number[] = [];
  wanted.forEach((box, i) => {
    if (box.x < left || box.x + box.width > right) return;
    if (!placed.every((other) => apart(box, other))) return;
    placed.push(box);
    found.push(i);
  });
  return found;
}
