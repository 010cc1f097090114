// SPDX-License-Identifier: Apache-2.0
// Chromium, and a person in front of it: at a desk, or with a phone in one hand.
//
// CATWALK_PAGE=FOLDER: the page as web/panel/build.mjs made it there, instead of the daemon's own.
import path from 'node:path';

import { chromium } from 'playwright-core';

export const sizes = {
  desk: { viewport: { width: 1440, height: 900 } },
  phone: { viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true },
};

let browser;
export async function openBrowser() {
  browser = await chromium.launch({
    executablePath: process.env.CATWALK_CHROMIUM,
    // Root, as in a container, has no sandbox; the only pages here are our own.
    args: process.getuid() === 0 ? ['--no-sandbox'] : [],
  });
}
export const closeBrowser = () => browser.close();

// A person at the page of this rack. Whatever the page complains about in the console, or takes from
// elsewhere, is kept; `calm` says that there was nothing.
export async function visit(rack, { size = 'desk', at = '', name, context = {} } = {}) {
  const person = await browser.newContext({ ...sizes[size], reducedMotion: 'reduce', ...context });
  person.setDefaultTimeout(30_000);
  if (name)
    await person.addInitScript((said) => localStorage.setItem('catwalk.name', said), name);
  const own = process.env.CATWALK_PAGE;
  for (const file of own ? ['app.js', 'app.css'] : [])
    await person.route(`**/${file}`, (route) => route.fulfill({ path: path.join(own, file) }));
  const page = await person.newPage();
  page.complaints = [];
  // A node that a busy machine did not let answer in time is a 504, which stories ask again after; the
  // browser writes each down as an error.
  const notInTime = /status of 504 /;
  page.on('console', (message) => {
    if (message.type() === 'error' && !notInTime.test(message.text())) page.complaints.push(message.text());
  });
  page.on('pageerror', (error) => page.complaints.push(String(error)));
  page.on('request', (request) => {
    if (!request.url().startsWith(rack.url.replace(/\/$/, ''))) page.complaints.push(`went to ${request.url()}`);
  });
  await page.goto(`${rack.url}/${at}`);
  return page;
}
