// SPDX-License-Identifier: Apache-2.0
// What a node can be set to. It follows from its datasheet and the rack file, so it is asked once
// for a plan.
import { get } from '../api/client';
import type { Allowed } from '../api/types';
import { state } from '../feed/store';
import { useAnswer, type Following } from '../ui/use_answer';

const known = new Map<string, Promise<Allowed>>();

function allowedFor(key: string, node: string): Promise<Allowed> {
  const found = known.get(key);
  if (found) return found;
  const asked = get('/nodes/{node}/allowed', { node });
  known.set(key, asked);
  asked.catch(() => known.delete(key));
  return asked;
}

export function useAllowed(node: string): Following<Allowed> {
  const { rack } = state.value;
  const question = rack ? `${rack.revision} ${node}` : null;
  return useAnswer(question, () => allowedFor(question ?? '', node));
}
