// SPDX-License-Identifier: Apache-2.0
// A node's window: what its filter passes, as the daemon says.
import type { Span } from './axis';

// Null: without a filter everything is passed.
export type Passing = Span | null;

export const windowOf = ({ passband_mhz: told }: { passband_mhz?: number[] }): Passing =>
  told ? [told[0] ?? 0, told[1] ?? 0] : null;
