// SPDX-License-Identifier: Apache-2.0
// How long to wait before the next try, ms: 500, 1000, 2000, 4000, 8000, 8000 …, each spread by a
// quarter so that the pages of a whole crew do not come back in one moment.
const first = 500;
const longest = 8000;

export function pauseBefore(attempt: number, random: number): number {
  const middle = Math.min(longest, first * 2 ** Math.max(0, attempt - 1));
  return Math.round(middle * (0.75 + random / 2));
}
