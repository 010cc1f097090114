// SPDX-License-Identifier: Apache-2.0
// What the feed tells never changes in place: what follows from it is worked out once for each value.
export function keptFor<Told extends object, Known>(
  workOut: (told: Told) => Known,
): (told: Told) => Known {
  const known = new WeakMap<Told, Known>();
  return (told) => {
    let found = known.get(told);
    if (found === undefined) known.set(told, (found = workOut(told)));
    return found;
  };
}
