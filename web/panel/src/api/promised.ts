// SPDX-License-Identifier: Apache-2.0
// What a daemon with sessions says and this API document does not yet. A page that gets a 404 for it
// does without.
import type { Role } from './types';

export interface Session {
  name: string;
  role: Role;
  tokens: boolean;
  expires_at?: string;
  tls?: boolean;
}
