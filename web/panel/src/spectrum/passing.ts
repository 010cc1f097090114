// SPDX-License-Identifier: Apache-2.0
// What a node makes of each carrier: passed, or rejected and by how much.
import type { Spectrum } from '../api/types';
import { isLetIn, isPassed } from '../model/window';
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
  // Surely.
  passed: boolean;
  // dB below the node's highest gain.
  down_db: number;
  // What should not be: a microphone of its own that it does not pass, a transmitter that it does.
  wrong?: 'not-passed' | 'let-in';
}

// `serves`: names of receivers.
export function fates(
  node: string,
  serves: ReadonlySet<string>,
  { curve, window }: Shown,
  carriers: readonly Carrier[],
): Fate[] {
  const top = best(curve);
  return carriers.map((carrier) => {
    const gain_db = gainAt(curve, carrier.frequency_mhz);
    const passed = isPassed(window, carrier);
    const own = carrier.receivers.some((receiver) => serves.has(receiver));
    const level = carrier.at_nodes[node];
    const lost = carrier.use === 'receive' && own && !passed;
    // Without a filter there is nothing that lets it in.
    const letIn = carrier.use === 'transmit' && window !== null && isLetIn(window, carrier);
    return {
      carrier,
      own,
      gain_db,
      passed,
      down_db: Math.max(0, top - gain_db),
      ...(level === undefined ? {} : { level_dbm: level }),
      ...(lost ? { wrong: 'not-passed' } : letIn ? { wrong: 'let-in' } : {}),
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
