// SPDX-License-Identifier: Apache-2.0
// What would be, if: the verdict, the level budget and the response of settings that nobody sent.
import { post } from '../api/client';
import type { Node, Settings, Supposed } from '../api/types';
import { state } from '../feed/store';

interface Asked {
  settings?: Settings;
  passive?: boolean;
  carrier?: string;
}

export const suppose = (node: string, asked: Asked, signal?: AbortSignal): Promise<Supposed> =>
  post('/nodes/{node}/what-if', { node }, { ...asked, response: true }, signal ? { signal } : {});

// Anything that such an answer rests on: another question is another answer.
export function conditionsOf({ name, seen }: Node): readonly unknown[] {
  const { rack } = state.value;
  return [
    name,
    rack?.revision,
    rack?.segment,
    seen?.settings,
    seen?.passive,
    seen?.telemetry.powered,
  ];
}
