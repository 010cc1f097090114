// SPDX-License-Identifier: Apache-2.0
// What a daemon of the next version says and this API document does not yet. Whoever asks for it
// must do without when the answer is 404.
import type { Role } from './types';

export interface PromisedNode {
  // The receiver branches that the node's chain ends at.
  serves?: { receiver: string; branch: number }[];
  gain_limits_db?: number[];
}

export interface PromisedAlarm {
  shelved?: { by: string; why: string; until: string };
}

export interface Session {
  name: string;
  role: Role;
  tokens: boolean;
  expires_at?: string;
  tls?: boolean;
}

export interface Steps {
  lowest: number;
  highest: number;
  step: number;
}

export interface AllowedFilter {
  name: string;
  width_mhz?: number;
  centre_mhz?: Steps;
  passband_mhz?: number[];
}

export interface Allowed {
  // Absent: the datasheet and the limits of the rack have nothing in common.
  gain_db?: Steps;
  filters: AllowedFilter[];
  label_longest: number;
  power: boolean[];
}

export interface Response {
  frequency_mhz: number[];
  gain_db: number[];
  passband_mhz?: number[];
}
