// SPDX-License-Identifier: Apache-2.0
// A node's gain over frequency, and what it is about to be while its window is drawn along.
import type { CarriersAtNode, Settings, ThroughNode } from '../api/types';
import type { Passing } from '../model/window';

export interface Curve {
  // MHz, rising; straight lines between.
  readonly frequency_mhz: readonly number[];
  readonly gain_db: readonly number[];
}

// What the daemon computed for settings.
export interface Truth {
  settings: Settings;
  curve: Curve;
  window: Passing;
  told: ToldCarriers;
}

// Names of carriers, by what the node makes of them; and how each comes through it.
export type ToldCarriers = Readonly<
  Record<Exclude<keyof CarriersAtNode, 'harmed'>, ReadonlySet<string>>
> & { readonly through: ThroughNode };
export const toldOf = (carriers: CarriersAtNode, through: ThroughNode): ToldCarriers => ({
  own: new Set(carriers.own),
  passed: new Set(carriers.passed),
  outside: new Set(carriers.outside),
  let_in: new Set(carriers.let_in),
  through,
});

// How high it is drawn there, for what lies on it and for who points at it; no number that is read
// comes from here. Beyond its ends a curve goes on as it ends.
export function gainAt({ frequency_mhz, gain_db }: Curve, mhz: number): number {
  let low = 0;
  let high = frequency_mhz.length - 1;
  if (high < 0) return NaN;
  if (mhz <= frequency_mhz[0]!) return gain_db[0]!;
  if (mhz >= frequency_mhz[high]!) return gain_db[high]!;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (frequency_mhz[middle]! <= mhz) low = middle;
    else high = middle;
  }
  const share = (mhz - frequency_mhz[low]!) / (frequency_mhz[high]! - frequency_mhz[low]!);
  return gain_db[low]! + share * (gain_db[high]! - gain_db[low]!);
}

export const moved = (curve: Curve, byMhz: number, byDb: number): Curve =>
  byMhz === 0 && byDb === 0
    ? curve
    : {
        frequency_mhz: curve.frequency_mhz.map((mhz) => mhz + byMhz),
        gain_db: curve.gain_db.map((db) => db + byDb),
      };

export interface Shown {
  curve: Curve;
  window: Passing;
  // computed: by the daemon, for these settings. moved: the last one that it computed, drawn to
  // where it is about to be. before: of other settings, since those wanted have another shape.
  basis: 'computed' | 'moved' | 'before';
  // Of the settings that the daemon computed it for: what becomes of a carrier is not guessed.
  told: ToldCarriers;
}

const sameShape = (a: Settings, b: Settings): boolean =>
  a.filter === b.filter && a.power === b.power;
const same = (a: Settings, b: Settings): boolean =>
  sameShape(a, b) && a.gain_db === b.gain_db && a.centre_mhz === b.centre_mhz;

// `truths`: the latest first.
export function curveFor(settings: Settings, truths: readonly Truth[]): Shown | null {
  const exact = truths.find((truth) => same(truth.settings, settings));
  const near = exact ?? truths.find((truth) => sameShape(truth.settings, settings));
  const from = near ?? truths[0];
  if (!from) return null;
  const byMhz =
    exact || !near || settings.centre_mhz === undefined || near.settings.centre_mhz === undefined
      ? 0
      : settings.centre_mhz - near.settings.centre_mhz;
  // Without power there is no amplifier to turn up.
  const byDb = exact || !near || !settings.power ? 0 : settings.gain_db - near.settings.gain_db;
  return {
    curve: moved(from.curve, byMhz, byDb),
    window: from.window && [from.window[0] + byMhz, from.window[1] + byMhz],
    basis: exact ? 'computed' : near ? 'moved' : 'before',
    told: from.told,
  };
}
