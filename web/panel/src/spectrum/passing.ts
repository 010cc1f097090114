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

type Made = Pick<Fate, 'passed' | 'wrong'>;

// As the daemon says of these very settings.
function madeOf({ told, window }: Shown, { name, use }: Carrier): Made {
  const passed = told.passed.has(name);
  if (use === 'receive' && told.outside.has(name)) return { passed, wrong: 'not-passed' };
  // Without a filter there is nothing that lets it in.
  if (window !== null && told.let_in.has(name)) return { passed, wrong: 'let-in' };
  return { passed };
}

// Worked out here while a window is drawn along, until the daemon has said it.
function madeMeanwhile({ told, window }: Shown, carrier: Carrier): Made {
  const passed = isPassed(window, carrier);
  const { name, use } = carrier;
  if (use === 'receive' && told.own.has(name) && !passed) return { passed, wrong: 'not-passed' };
  if (use === 'transmit' && window !== null && isLetIn(window, carrier))
    return { passed, wrong: 'let-in' };
  return { passed };
}

export function fates(node: string, shown: Shown, carriers: readonly Carrier[]): Fate[] {
  const { curve, basis, told } = shown;
  const top = best(curve);
  return carriers.map((carrier) => {
    const gain_db = gainAt(curve, carrier.frequency_mhz);
    const level = carrier.at_nodes[node];
    return {
      carrier,
      own: told.own.has(carrier.name),
      gain_db,
      down_db: Math.max(0, top - gain_db),
      ...(level === undefined ? {} : { level_dbm: level }),
      ...(basis === 'moved' ? madeMeanwhile(shown, carrier) : madeOf(shown, carrier)),
    };
  });
}

export const productsAt = (node: string, products: readonly Product[]): Product[] =>
  products
    .filter((product) => product.node === node)
    .sort((a, b) => b.level_dbm - a.level_dbm || a.at_mhz - b.at_mhz);
