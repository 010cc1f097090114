// SPDX-License-Identifier: Apache-2.0
// How smoothly a window is drawn along in the spectrum, with 64 nodes and 120 carriers: the times
// between frames, and the time from a step to its verdict on the screen. Prints figures; asserts
// nothing. The frames of the same page at rest, in the same run, say what the machine gives.
//
//   CATWALKD=… CATWALK_SOURCE=… CATWALK_CHROMIUM=… node measure_drag.mjs
//
// CATWALK_PAGE=FOLDER: the page as web/panel/build.mjs made it there, instead of the daemon's own.
import fs from 'node:fs';
import path from 'node:path';

import { closeBrowser, openBrowser, visit } from './browser.mjs';
import { Rack } from './rack.mjs';

const frames = 600;
const steps = 100;

const kinds = { '.js': 'text/javascript', '.css': 'text/css' };
async function ownPage(page, folder) {
  for (const name of ['app.js', 'app.css'])
    await page.route(`**/${name}`, (route) =>
      route.fulfill({
        contentType: kinds[path.extname(name)],
        body: fs.readFileSync(path.join(folder, name)),
      }),
    );
  await page.reload();
  // What is asked later must not go through here.
  await page.unrouteAll();
}

function figures(times) {
  const sorted = [...times].sort((a, b) => a - b);
  const at = (share) =>
    sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))].toFixed(1);
  return `median ${at(0.5)} ms, p95 ${at(0.95)} ms, p99 ${at(0.99)} ms, worst ${at(1)} ms of ${sorted.length}`;
}

const watchFrames = (page) =>
  page.evaluate(() => {
    const seen = (window.seenFrames = { times: [], on: true });
    let last = 0;
    const frame = (now) => {
      if (last) seen.times.push(now - last);
      last = now;
      if (seen.on) requestAnimationFrame(frame);
    };
    requestAnimationFrame(frame);
  });
const countFrames = (page) => page.evaluate(() => window.seenFrames.times.length);
const framesSeen = (page) =>
  page.evaluate(() => {
    window.seenFrames.on = false;
    return window.seenFrames.times;
  });

async function grip(page, handle) {
  const box = await handle.boundingBox();
  const at = { x: box.x + box.width / 2, y: box.y + box.height / 2 };
  await page.mouse.move(at.x, at.y);
  await page.mouse.down();
  return at;
}

await openBrowser();
const rack = await Rack.simulated(64);
try {
  await rack.allRead();
  await rack.ask('POST', '/switch', {
    segment: 'evening',
    waiver: { who: 'ana', reason: 'measuring' },
  });
  for (const size of ['desk', 'phone']) {
    const page = await visit(rack, { size, at: '#/spectrum?node=n1', name: 'ana' });
    if (process.env.CATWALK_PAGE) await ownPage(page, process.env.CATWALK_PAGE);
    const handle = page.getByRole('slider', { name: 'Window of n1: centre' });
    await handle.waitFor();
    await page.waitForLoadState('networkidle').catch(() => {});

    await watchFrames(page);
    while ((await countFrames(page)) < frames / 2) await page.mouse.move(3, 3);
    console.log(`${size}: frames at rest: ${figures(await framesSeen(page))}`);

    for (const name of ['Window of n1: centre', 'Gain of n1']) {
      const slider = page.getByRole('slider', { name });
      const at = await grip(page, slider);
      await watchFrames(page);
      for (let i = 0; (await countFrames(page)) < frames; ++i) {
        const by = Math.round(60 * Math.sin(i / 20));
        await page.mouse.move(
          at.x + (name.startsWith('Window') ? by : 0),
          at.y + (name.startsWith('Gain') ? by : 0),
        );
      }
      console.log(`${size}: frames while "${name}" is drawn: ${figures(await framesSeen(page))}`);
      await page.keyboard.press('Escape');
      await page.mouse.up();
    }

    // Looking about paints both layers.
    const canvas = page.getByRole('img', { name: /^Spectrum with/ });
    await page.getByRole('button', { name: 'Look closer' }).click();
    const box = await canvas.boundingBox();
    const middle = { x: box.x + box.width / 2, y: box.y + box.height * 0.7 };
    await page.mouse.move(middle.x, middle.y);
    await page.mouse.down();
    await watchFrames(page);
    for (let i = 0; (await countFrames(page)) < frames; ++i)
      await page.mouse.move(middle.x + Math.round(60 * Math.sin(i / 20)), middle.y);
    console.log(`${size}: frames while the picture is moved: ${figures(await framesSeen(page))}`);
    await page.mouse.up();
    await page.getByRole('button', { name: 'All', exact: true }).click();

    // From the event of a step to the frame that shows its verdict.
    const at = await grip(page, handle);
    await page.evaluate(() => {
      window.verdictTimes = [];
      let began = 0;
      let was = '';
      const slider = document.querySelector('.handle:not(.upright)');
      addEventListener('pointermove', (event) => void (began = event.timeStamp), true);
      new MutationObserver(() => {
        const value = slider.getAttribute('aria-valuenow');
        const verdict = document.querySelector('.commit .verdict');
        if (
          !began ||
          value === was ||
          !verdict?.querySelector('.verdict-word') ||
          verdict.matches('.old')
        )
          return;
        was = value;
        const from = began;
        began = 0;
        requestAnimationFrame(() => window.verdictTimes.push(performance.now() - from));
      }).observe(document.body, {
        subtree: true,
        childList: true,
        attributes: true,
        characterData: true,
      });
    });
    for (let i = 1; i <= steps; ++i) {
      await page.mouse.move(
        at.x + (i % 2 ? 1 : -1) * Math.ceil(i / 2) * 0.5 - (i % 2 ? 0 : 1),
        at.y,
      );
      await page.waitForFunction((least) => window.verdictTimes.length >= least, i, {
        timeout: 10_000,
      });
    }
    console.log(
      `${size}: from a step to its verdict: ${figures(await page.evaluate(() => window.verdictTimes))}`,
    );
    await page.keyboard.press('Escape');
    await page.mouse.up();
    for (const complaint of page.complaints)
      console.log(`${size}: the page complains: ${complaint}`);
    await page.context().close();
  }
} finally {
  await rack.stop();
  await closeBrowser();
}
