// SPDX-License-Identifier: Apache-2.0
import assert from 'node:assert/strict';
import { test } from 'node:test';
import {
  countdown,
  decibels,
  duration,
  list,
  megahertz,
  megahertzShort,
  signedDecibels,
} from '../src/model/format';

test('a gain has one place, and a second one only if it says something', () => {
  assert.equal(decibels(6), '6.0');
  assert.equal(decibels(2.25), '2.25');
  assert.equal(decibels(-3.5), '−3.5');
  assert.equal(signedDecibels(4), '+4.0');
  assert.equal(signedDecibels(0), '0.0');
});

test('a frequency has three places, and hertz only if there are some', () => {
  assert.equal(megahertz(541.55), '541.550');
  assert.equal(megahertz(541.550125), '541.550125');
  assert.equal(megahertzShort(541.55), '541.55');
  assert.equal(megahertzShort(526), '526');
});

test('ages are short, and countdowns end at nothing', () => {
  assert.equal(duration(400), '0.4 s');
  assert.equal(duration(12_300), '12 s');
  assert.equal(duration(180_000), '3 min');
  assert.equal(countdown(899_001), '15:00');
  assert.equal(countdown(61_000), '01:01');
  assert.equal(countdown(3_661_000), '1:01:01');
  assert.equal(countdown(-5), '00:00');
});

test('words are listed as one would say them', () => {
  assert.equal(list([]), '');
  assert.equal(list(['vocals A']), 'vocals A');
  assert.equal(list(['vocals A', 'band B', 'roving A']), 'vocals A, band B and roving A');
});
