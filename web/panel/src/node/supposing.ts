// SPDX-License-Identifier: Apache-2.0
// What would be, if: the verdict, the level budget and the response of settings that nobody sent.
import { post } from '../api/client';
import type { Settings, Supposed } from '../api/types';

interface Asked {
  settings?: Settings;
  passive?: boolean;
  carrier?: string;
}

export const suppose = (node: string, asked: Asked, signal: AbortSignal): Promise<Supposed> =>
  post('/nodes/{node}/what-if', { node }, { ...asked, response: true }, { signal });
