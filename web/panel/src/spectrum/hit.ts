// SPDX-License-Identifier: Apache-2.0
// Which curve is meant by a tap.
import { gainAt, type Curve } from './curve';

export interface Candidate {
  node: string;
  curve: Curve;
}

// Distance in px from (mhz, db). Straight above and below is not enough on a slope: it is looked for
// `reach` px to both sides too.
function distance(
  curve: Curve,
  mhz: number,
  db: number,
  mhzPerPx: number,
  dbPerPx: number,
  reach: number,
): number {
  let least = Infinity;
  for (let dx = -reach; dx <= reach; dx += 2) {
    const dy = (gainAt(curve, mhz + dx * mhzPerPx) - db) / dbPerPx;
    least = Math.min(least, Math.hypot(dx, dy));
  }
  return least;
}

// Curves often lie on each other: a tap on a pile that holds the selected one gives the next of it.
export function hit(
  candidates: readonly Candidate[],
  selected: string,
  mhz: number,
  db: number,
  mhzPerPx: number,
  dbPerPx: number,
  reach = 18,
): string | null {
  const measured = candidates
    .map(({ node, curve }) => ({ node, px: distance(curve, mhz, db, mhzPerPx, dbPerPx, reach) }))
    .filter(({ px }) => px <= reach);
  if (measured.length === 0) return null;
  const least = Math.min(...measured.map(({ px }) => px));
  const pile = measured.filter(({ px }) => px <= least + 1.5).map(({ node }) => node);
  return pile[(pile.indexOf(selected) + 1) % pile.length] ?? null;
}
