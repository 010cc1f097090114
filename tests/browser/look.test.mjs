// SPDX-License-Identifier: Apache-2.0
// Every view, in both themes, at desk and phone size: no violation of what axe-core knows of WCAG 2.2,
// nothing too small for a thumb, nothing beside the screen, all of it at 200 % text. Pictures of each go
// to CATWALK_PICTURES, to be looked at.
import assert from 'node:assert/strict';
import fs from 'node:fs';
import { createRequire } from 'node:module';
import path from 'node:path';
import { describe, it } from 'node:test';
import zlib from 'node:zlib';

import { oneRack, rack } from './beginnings.mjs';
import { sizes, visit } from './browser.mjs';
import { eventually } from './eventually.mjs';
import { Rack } from './rack.mjs';

const axe = fs.readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const pictures = process.env.CATWALK_PICTURES;
if (pictures) fs.mkdirSync(pictures, { recursive: true });

const views = {
  grid: '#/grid',
  node: '#/node/truss-left',
  spectrum: '#/spectrum',
  order: '#/order',
  journal: '#/journal',
  alarms: '#/alarms',
  routes: '#/routes',
};

oneRack(() => Rack.harbour(), async () => {
  await rack.ready();
  // Something to look at: a drifted node, one without supply, a change in the journal, a switch.
  await rack.ask('POST', '/switch', { segment: 'speeches', waiver: { who: 'ana', reason: 'rehearsal' } }, { 'Catwalk-User': 'ana' });
  rack.truss.say('knob 7a10-00000201 gain 12');
  rack.quay.say('power 7a10-00000302 off');
  await eventually('both are alarms', async () => {
    const kinds = (await rack.ask('GET', '/alarms')).body.alarms.map(({ kind }) => kind);
    return kinds.includes('drifted') && kinds.includes('passive');
  });
});

// The page holds still: all that it has asked for has come.
async function settled(page) {
  await page.waitForLoadState('networkidle').catch(() => {});
  await page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))));
}

const tooSmall = (page) =>
  page.evaluate(() =>
    [...document.querySelectorAll('button, input, select, summary, [role=button], [role=switch], nav a, a.chip, a.button')]
      .filter((element) => element.checkVisibility({ checkOpacity: true, checkVisibilityCSS: true }))
      .filter((element) => !element.matches('.unseen, .unseen *, [tabindex="-1"][aria-hidden=true]'))
      .map((element) => {
        // A label that is pressed for its field is as large as both.
        const around = element.closest('label') ?? element;
        const { width, height } = around.getBoundingClientRect();
        return { what: `${element.tagName} ${element.className} "${(element.ariaLabel ?? element.textContent ?? '').trim().slice(0, 40)}"`, width, height };
      })
      .filter(({ width, height }) => width < 43.9 || height < 43.9)
      .map(({ what, width, height }) => `${what}: ${width.toFixed(0)} × ${height.toFixed(0)}`));

// What sticks out beside the screen, the innermost last. A picture takes its new width a frame after its
// place has, so that what counts is how the page comes to rest.
const besideTheScreen = (page) =>
  page.evaluate(() => {
    const { scrollWidth, clientWidth } = document.documentElement;
    if (scrollWidth <= clientWidth) return [];
    return [`${scrollWidth - clientWidth} px`].concat(
      [...document.querySelectorAll('body *')]
        .filter((element) => element.getBoundingClientRect().right > clientWidth + 0.5)
        .map((element) => `${element.tagName} ${element.className} "${(element.textContent ?? '').trim().slice(0, 40)}"`));
  });
async function fitsTheScreen(page, when) {
  let beside;
  await eventually(when, async () => (beside = await besideTheScreen(page)).length === 0)
    .catch(() => assert.deepEqual(beside, [], when));
}

for (const size of Object.keys(sizes))
  for (const theme of ['dark', 'light'])
    describe(`${size}, ${theme}`, () => {
      for (const [view, at] of Object.entries(views))
        it(view, async () => {
          const page = await visit(rack, { size, name: 'ana' });
          await page.evaluate((chosen) => localStorage.setItem('catwalk.theme', chosen), theme);
          await page.goto(`${rack.url}/${at}`);
          await page.reload();
          await page.getByRole('heading').first().waitFor();
          await settled(page);
          if (pictures) await page.screenshot({ path: path.join(pictures, `${view}-${size}-${theme}.png`) });
          await page.evaluate(axe);
          const { violations } = await page.evaluate(() =>
            window.axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] }));
          assert.deepEqual(violations.map(({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html.slice(0, 120)).join(' | ')}`), []);
          assert.deepEqual(await tooSmall(page), []);
          await fitsTheScreen(page, 'as it comes');
          // WCAG 2.2, 1.4.4: text at 200 %.
          await page.evaluate(() => void (document.documentElement.style.fontSize = '200%'));
          await settled(page);
          await fitsTheScreen(page, 'at 200 % text');
          assert.deepEqual(page.complaints, []);
          await page.context().close();
        });
    });

describe('all of it', () => {
  it('weighs no more than 200 KiB compressed, and asks for nothing from elsewhere', async () => {
    const page = await visit(rack, { name: 'ana' });
    await page.getByRole('link', { name: 'truss-left' }).waitFor();
    const files = await page.evaluate(() => performance.getEntriesByType('resource').map(({ name }) => name));
    const own = files.filter((name) => !name.includes('/api/'));
    let weight = 0;
    for (const file of [`${rack.url}/`, ...own]) {
      assert.ok(file.startsWith(rack.url), file);
      const response = await fetch(file, { headers: { 'Accept-Encoding': 'gzip' } });
      // fetch() unpacks what it gets; packing it again is the weight on the wire, give or take a level.
      weight += zlib.gzipSync(Buffer.from(await response.arrayBuffer()), { level: 9 }).length;
    }
    assert.ok(weight <= 200 * 1024, `${weight} bytes`);
    assert.deepEqual(page.complaints, []);
  });

  it('has no script but its own: what a policy of the browser forbids does not run', async () => {
    const page = await visit(rack, { name: 'ana' });
    await page.evaluate(() => {
      const script = document.createElement('script');
      script.textContent = 'window.intruder = true';
      document.body.append(script);
    });
    assert.equal(await page.evaluate(() => window.intruder), undefined);
    assert.equal(page.complaints.length, 1);
    assert.match(page.complaints[0], /Content Security Policy/);
  });
});
