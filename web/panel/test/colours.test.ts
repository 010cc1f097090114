// SPDX-License-Identifier: Apache-2.0
// Contrast by the formulas of WCAG 2.2, "relative luminance" and "contrast ratio".
import assert from 'node:assert/strict';
import { test } from 'node:test';
import tokens from '../src/style/tokens.css';

type Colours = Record<string, string>;

function theme(selector: string): Colours {
  const block = tokens.slice(tokens.indexOf(selector));
  const body = block.slice(block.indexOf('{') + 1, block.indexOf('}'));
  return Object.fromEntries(
    [...body.matchAll(/--([\w-]+): (#[0-9a-f]{6});/g)].map((found) => [found[1], found[2]]),
  );
}

function luminance(colour: string): number {
  const [red, green, blue] = [1, 3, 5].map((at) => {
    const part = parseInt(colour.slice(at, at + 2), 16) / 255;
    return part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4;
  });
  return 0.2126 * red! + 0.7152 * green! + 0.0722 * blue!;
}

function contrast(first: string, other: string): number {
  const [high, low] = [luminance(first), luminance(other)].sort((a, b) => b - a);
  return (high! + 0.05) / (low! + 0.05);
}

test('the formula gives what the standard says of black and white', () => {
  assert.equal(contrast('#000000', '#ffffff'), 21);
  assert.equal(contrast('#767676', '#ffffff').toFixed(2), '4.54');
});

for (const [name, selector] of [
  ['dark', ':root {'],
  ['daylight', ':root[data-theme='],
] as const) {
  const colours = theme(selector);
  test(`${name}: all text has a contrast of 4.5 on every ground`, () => {
    for (const ground of ['ground', 'surface', 'raised'])
      for (const text of ['text', 'quiet', 'fault', 'caution', 'moving'])
        assert.ok(
          contrast(colours[text]!, colours[ground]!) >= 4.5,
          `${text} on ${ground}: ${contrast(colours[text]!, colours[ground]!).toFixed(2)}`,
        );
    for (const [text, ground] of [
      ['on-main', 'main'],
      ['on-fault', 'fault-fill'],
    ] as const)
      assert.ok(contrast(colours[text]!, colours[ground]!) >= 4.5, `${text} on ${ground}`);
  });
  test(`${name}: the edges of controls and the mark of the focus have a contrast of 3`, () => {
    for (const ground of ['ground', 'surface', 'raised'])
      for (const edge of ['edge-strong', 'focus', 'fault', 'caution', 'moving'])
        assert.ok(
          contrast(colours[edge]!, colours[ground]!) >= 3,
          `${edge} on ${ground}: ${contrast(colours[edge]!, colours[ground]!).toFixed(2)}`,
        );
  });
}
