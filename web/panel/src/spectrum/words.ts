// SPDX-License-Identifier: Apache-2.0
// The picture in words.
import { band, list, plural, tenths } from '../model/format';
import type { Fate, Product } from './passing';
import type { InFront } from './use_front';

export function fateWords(fate: Fate): string {
  const down = `${tenths(fate.down_db)} dB`;
  if (fate.wrong === 'not-passed') return `its own, and not surely passed: ${down} down`;
  if (fate.wrong === 'let-in') return `transmits into the window: ${down} down`;
  if (fate.passed) return fate.own ? 'passed: its own' : 'passed';
  return `rejected by ${down}`;
}

export interface Summary {
  own: string;
  // null: nothing of the show transmits.
  rejects: string | null;
  wrong: boolean;
  products: string;
}

// What it lets through comes before how far down the rest is: 0 dB down is no rejection.
function rejection(transmit: readonly Fate[]): string | null {
  const [least] = [...transmit].sort((a, b) => a.down_db - b.down_db);
  if (!least) return null;
  const through = transmit.filter(({ passed }) => passed).map(({ carrier }) => carrier.name);
  if (through.length === transmit.length) return "rejects none of the show's own transmitters";
  if (through.length > 0)
    return (
      `lets ${through.length} of the show's ${transmit.length} transmitters through ` +
      `(${firstOf(through)})`
    );
  return (
    `rejects the show's own transmitters by ${tenths(least.down_db)} dB or more ` +
    `(least: ${least.carrier.name})`
  );
}

// Three of them, and how many more there are.
function firstOf(names: readonly string[]): string {
  const shown = names.slice(0, 3);
  const more = names.length - shown.length;
  return list(more > 0 ? [...shown, `${more} more`] : shown);
}

export function summary(fates: readonly Fate[], products: readonly Product[]): Summary {
  const own = fates.filter((fate) => fate.own && fate.carrier.use === 'receive');
  const passed = own.filter((fate) => fate.passed && !fate.wrong);
  const transmit = fates.filter((fate) => fate.carrier.use === 'transmit');
  const strongest = Math.max(...products.map(({ level_dbm }) => level_dbm));
  const landedOn = firstOf([...new Set(products.map(({ lands_on }) => lands_on))]);
  const count = plural(own.length, 'microphone');
  return {
    own:
      own.length === 0
        ? 'serves no microphone of this segment'
        : `passes ${passed.length} of its ${count}`,
    rejects: rejection(transmit),
    wrong: fates.some((fate) => fate.wrong),
    products:
      products.length === 0
        ? 'no product lands on a carrier'
        : `${plural(products.length, 'product')} on ${landedOn}, ` +
          `the strongest at ${tenths(strongest)} dBm`,
  };
}

export function pictureWords({ node, shown, fates, old, products }: InFront): string {
  if (!shown) return `What ${node} passes is not known.`;
  const words = summary(fates, products);
  const wrong = fates.filter((fate) => fate.wrong);
  return [
    `${node}: ${shown.window ? `window ${band(shown.window)}` : 'no filter'}`,
    words.own + (old ? ', as was said before the last edit' : ''),
    ...(words.rejects ? [words.rejects] : []),
    ...(wrong.length > 0
      ? [`wrong: ${list(wrong.slice(0, 6).map((fate) => fate.carrier.name))}`]
      : []),
    words.products,
  ].join('; ');
}
