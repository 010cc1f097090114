// SPDX-License-Identifier: Apache-2.0
// How a file of tests begins and ends: with a browser, and one rack for all its tests or one for each.
import { after, before } from 'node:test';

import { closeBrowser, openBrowser } from './browser.mjs';

// That of `oneRack`, from the first test on.
export let rack;

// One rack for all tests of this file; `prepare` says when they may begin.
export function oneRack(make, prepare = (made) => made.ready()) {
  before(async () => {
    await openBrowser();
    rack = await make();
    await prepare(rack);
  });
  after(async () => {
    await rack.stop();
    await closeBrowser();
  });
}

// A browser for all tests of this file, each of which makes its own rack.
export function manyRacks() {
  before(openBrowser);
  after(closeBrowser);
}

// A rack for one test.
export async function withRack(make, use) {
  const own = await make();
  try {
    await use(own);
  } finally {
    await own.stop();
  }
}
