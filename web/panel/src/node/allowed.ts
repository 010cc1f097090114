// SPDX-License-Identifier: Apache-2.0
// What a node can be set to. It follows from its datasheet and the rack file, so it is asked once
// for a plan.
import { get } from '../api/client';
import type { Allowed } from '../api/types';

const known = new Map<string, Promise<Allowed>>();

export function allowedFor(node: string, planRevision: number): Promise<Allowed> {
  const key = `${planRevision} ${node}`;
  const found = known.get(key);
  if (found) return found;
  const asked = get('/nodes/{node}/allowed', { node });
  known.set(key, asked);
  asked.catch(() => known.delete(key));
  return asked;
}
