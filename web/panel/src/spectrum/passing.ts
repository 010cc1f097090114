// SPDX-License-Identifier: Apache-2.0
// What a node makes of each carrier: passed, or rejected and by how much.
import type { Spectrum } from '../api/types';
import { best, gainAt, type Shown } from './curve';

export type Carrier = Spectrum['carriers'][number];
export type Product = Spectrum['products'][number];

export interface Fate {
  carrier: Carrier;
  // It reaches a receiver by way of this node.
  own: boolean;
  // dBm at the antenna's terminals; absent: not known.
  level_dbm?: number;
  gain_db: number;
  // All of its bandwidth lies in the window.
  passed: boolean;
  // dB below the node's highest gain.
  down_db: number;
  // What should not be: a microphone of its own that it does not pass, a transmitter that it does.
  wrong?: 'not-passed' | 'let-in';
}

// `serves`: names of receivers. `faulted`: carriers that the daemon refuses this node for.
export function fates(
  node: string,
  serves: ReadonlySet<string>,
  shown: Shown,
  carriers: readonly Carrier[],
  faulted: ReadonlySet<string> = new Set(),
): Fate[] {
  const top = best(shown.curve);
  return carriers.map((carrier) => {
    const half = carrier.bandwidth_khz / 2000;
    const low = carrier.frequency_mhz - half;
    const high = carrier.frequency_mhz + half;
    const gain_db = gainAt(shown.curve, carrier.frequency_mhz);
    const pass = shown.passband_mhz;
    const passed = !pass || (low >= pass[0] && high <= pass[1]);
    const touches = !pass || (high >= pass[0] && low <= pass[1]);
    const own = carrier.receivers.some((receiver) => serves.has(receiver));
    const level = carrier.at_nodes[node];
    const refused = shown.basis === 'computed' && faulted.has(carrier.name);
    const wrong =
      carrier.use === 'receive'
        ? own && (!passed || refused)
          ? 'not-passed'
          : undefined
        : (pass !== undefined && touches) || refused
          ? 'let-in'
          : undefined;
    return {
      carrier,
      own,
      gain_db,
      passed,
      down_db: Math.max(0, top - gain_db),
      ...(level === undefined ? {} : { level_dbm: level }),
      ...(wrong ? { wrong } : {}),
    };
  });
}

// Carriers that the daemon says a product lands on too strongly.
export const harmedBy = (
  findings: readonly { rule: string; severity: string; concerns: readonly string[] }[],
): ReadonlySet<string> =>
  new Set(
    findings
      .filter(({ rule, severity }) => rule === 'intermodulation-on-carrier' && severity !== 'note')
      .map(({ concerns }) => concerns[0] ?? ''),
  );

export const productsAt = (node: string, products: readonly Product[]): Product[] =>
  products
    .filter((product) => product.node === node)
    .sort((a, b) => b.level_dbm - a.level_dbm || a.at_mhz - b.at_mhz);
