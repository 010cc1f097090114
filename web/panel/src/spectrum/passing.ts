// SPDX-License-Identifier: Apache-2.0
// What a node makes of each carrier: passed, or rejected and by how much.
import type { Spectrum } from '../api/types';
import type { Shown } from './curve';

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

function wrongOf({ told, window }: Shown, { name, use }: Carrier): Pick<Fate, 'wrong'> {
  if (use === 'receive' && told.outside.has(name)) return { wrong: 'not-passed' };
  // Without a filter there is nothing that lets it in.
  if (window !== null && told.let_in.has(name)) return { wrong: 'let-in' };
  return {};
}

// As the daemon said of the settings that it computed last: those that are shown, or those that the
// window is being drawn away from. One that it did not tell of is left out.
export const fates = (node: string, shown: Shown, carriers: readonly Carrier[]): Fate[] =>
  carriers.flatMap((carrier) => {
    const { own, passed, through } = shown.told;
    const how = through[carrier.name];
    const level = carrier.at_nodes[node];
    return how
      ? {
          carrier,
          own: own.has(carrier.name),
          passed: passed.has(carrier.name),
          ...how,
          ...(level === undefined ? {} : { level_dbm: level }),
          ...wrongOf(shown, carrier),
        }
      : [];
  });

export const productsAt = (node: string, products: readonly Product[]): Product[] =>
  products
    .filter((product) => product.node === node)
    .sort((a, b) => b.level_dbm - a.level_dbm || a.at_mhz - b.at_mhz);
