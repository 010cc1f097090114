// SPDX-License-Identifier: Apache-2.0
// What a node can be set to. It follows from its datasheet and the rack file, so it is asked once
// for a plan; a daemon that does not tell it checks all the same.
import { ask, Refused } from '../api/client';
import type { Allowed } from '../api/promised';

const known = new Map<string, Promise<Allowed | null>>();

export function allowedFor(node: string, planRevision: number): Promise<Allowed | null> {
  const key = `${planRevision} ${node}`;
  const found = known.get(key);
  if (found) return found;
  const asked = ask<Allowed>('GET', '/nodes/{node}/allowed', { node }).catch((error: unknown) => {
    if (error instanceof Refused && error.status === 404) return null;
    known.delete(key);
    throw error;
  });
  known.set(key, asked);
  return asked;
}
