// SPDX-License-Identifier: Apache-2.0
// What would be, if: the verdict, the level budget and the response of settings that nobody has
// sent.
import { ask, post, Refused } from '../api/client';
import type { Response } from '../api/promised';
import type { Settings, Supposed } from '../api/types';

export type Supposition = Supposed & { response?: Response };

// A daemon that cannot draw a response refuses the word; it is not asked for it again.
let drawsResponses = true;

export async function suppose(
  node: string,
  asked: { settings?: Settings; passive?: boolean; carrier?: string },
  signal: AbortSignal,
): Promise<Supposition> {
  if (drawsResponses) {
    try {
      return await ask<Supposition>(
        'POST',
        '/nodes/{node}/what-if',
        { node },
        { ...asked, response: true },
        { signal },
      );
    } catch (error) {
      const unknown =
        error instanceof Refused &&
        error.problem.errors?.some(({ pointer }) => pointer === '/response');
      if (!unknown) throw error;
      drawsResponses = false;
    }
  }
  return post('/nodes/{node}/what-if', { node }, asked, { signal });
}
