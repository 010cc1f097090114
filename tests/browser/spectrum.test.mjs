// SPDX-License-Identifier: Apache-2.0
// The window of a node is drawn along the spectrum by mouse, by finger and by keys. What the page
// shows is held against what the API says.
import assert from 'node:assert/strict';
import { describe, it } from 'node:test';

import { oneRack, rack } from './beginnings.mjs';
import { visit } from './browser.mjs';
import { eventually } from './eventually.mjs';
import { changeAndSee, hands } from './hands.mjs';
import { Rack } from './rack.mjs';

const node = 'truss-left';
const at = `#/spectrum?node=${node}`;

oneRack(() => Rack.bench());

const windowOf = (page) => page.getByRole('slider', { name: `Window of ${node}: centre` });
const gainOf = (page) => page.getByRole('slider', { name: `Gain of ${node}` });
const valueOf = async (slider) => Number(await slider.getAttribute('aria-valuenow'));
const change = (page) => page.getByRole('form', { name: 'The change' });

// A person at the spectrum, with this handle in sight, and what is wanted of the node by then.
async function visitHandle(hand, handleOf) {
  const page = await visit(rack, { size: hand.size, at, name: 'ana' });
  const slider = handleOf(page);
  await slider.waitFor();
  return { page, slider, was: (await rack.node(node)).wanted };
}

async function middle(locator) {
  await locator.scrollIntoViewIfNeeded();
  const { x, y, width, height } = await locator.boundingBox();
  return { x: x + width / 2, y: y + height / 2 };
}

// Draws a handle along by so many px, and lets it go.
const draw = {
  mouse: async (page, slider, dx, dy) => {
    const from = await middle(slider);
    await page.mouse.move(from.x, from.y);
    await page.mouse.down();
    await page.mouse.move(from.x + dx, from.y + dy, { steps: 8 });
    await page.mouse.up();
  },
  touch: async (page, slider, dx, dy) => {
    const from = await middle(slider);
    const finger = await page.context().newCDPSession(page);
    const touch = (type, touchPoints) =>
      finger.send('Input.dispatchTouchEvent', { type, touchPoints });
    await touch('touchStart', [from]);
    for (let i = 1; i <= 8; ++i)
      await touch('touchMove', [{ x: from.x + (dx * i) / 8, y: from.y + (dy * i) / 8 }]);
    await touch('touchEnd', []);
  },
  keyboard: async (page, slider, dx, dy) => {
    await slider.focus();
    for (let i = 0; i < 4; ++i) await page.keyboard.press(dx + -dy > 0 ? 'ArrowUp' : 'ArrowDown');
  },
};

for (const [name, hand] of Object.entries(hands))
  describe(`by ${name}`, () => {
    it('a gain is drawn down, judged while it moves, sent when it is said, and read back', async () => {
      const { page, slider, was } = await visitHandle(hand, gainOf);
      await draw[name](page, slider, 0, 12);
      const wish = await valueOf(slider);
      assert.ok(wish < was.gain_db, `${wish}`);
      const asked = (
        await rack.ask('POST', `/nodes/${node}/what-if`, {
          settings: { ...was, revision: undefined, gain_db: wish },
        })
      ).body;
      await eventually('the verdict is that of the daemon', async () =>
        (await change(page).getByRole('status').innerText()).includes(
          {
            accepted: 'Nothing is against it',
            'needs-waiver': 'needs somebody who answers',
            refused: 'refused',
          }[asked.would_be],
        ),
      );
      assert.equal((await rack.node(node)).wanted.revision, was.revision, 'nothing is sent yet');
      await changeAndSee(page, hand, node);
      assert.equal((await rack.node(node)).seen.settings.gain_db, wish);
      await rack.set(node, { gain_db: was.gain_db, waiver: { who: 'ben', reason: 'as it was' } });
      assert.deepEqual(page.complaints, []);
      await page.context().close();
    });

    it('a window that is drawn along stays on the steps of the node, and Escape puts it back', async () => {
      const { page, slider, was } = await visitHandle(hand, windowOf);
      await draw[name](page, slider, 30, 0);
      const there = await valueOf(slider);
      const { lowest, step } = (await rack.ask('GET', `/nodes/${node}/allowed`)).body.filters.find(
        (one) => one.name === was.filter,
      ).centre_mhz;
      assert.ok(there > was.centre_mhz, `${there}`);
      const steps = (there - lowest) / step;
      assert.ok(Math.abs(steps - Math.round(steps)) < 1e-6, `${there}`);
      await change(page).waitFor();
      await page.keyboard.press('Escape');
      await change(page).waitFor({ state: 'detached' });
      assert.equal(await valueOf(slider), was.centre_mhz);
      assert.equal((await rack.node(node)).wanted.revision, was.revision);
      assert.deepEqual(page.complaints, []);
      await page.context().close();
    });
  });

it('what stands in the table is what the daemon says of the carriers at the node', async () => {
  const page = await visit(rack, { at, name: 'ana' });
  const { carriers, nodes } = (await rack.ask('GET', '/spectrum')).body;
  const { through } = nodes.find((entry) => entry.node === node);
  const table = page.getByRole('region', { name: `Table of carriers at ${node}` });
  await table.waitFor();
  for (const { name, use, at_nodes } of carriers) {
    const row = table
      .getByRole('row')
      .filter({ has: page.getByRole('rowheader', { name, exact: true }) });
    const text = await row.innerText();
    assert.match(text, use === 'transmit' ? /transmits/ : /to \S/);
    assert.ok(text.includes(at_nodes[node].toFixed(1).replace('-', '−')), text);
    const gain = through[name].gain_db.toFixed(1).replace(/^-0\.0$/, '0.0').replace('-', '−');
    const cell = row.getByRole('cell').nth(3);
    assert.equal((await cell.innerText()).replace('+', ''), gain);
  }
  await page.context().close();
});

it('the keys move and stretch the picture, and never beyond the show', async () => {
  const page = await visit(rack, { at, name: 'ana' });
  const picture = page.getByRole('img', { name: `Spectrum with ${node} in front` });
  await picture.focus();
  const sight = () => page.getByText('in sight').innerText();
  const all = await sight();
  await page.keyboard.press('ArrowLeft');
  assert.equal(await sight(), all);
  await page.keyboard.press('+');
  await eventually('it is closer', async () => (await sight()) !== all);
  await page.keyboard.press('ArrowRight');
  await page.keyboard.press('Home');
  await eventually('all is in sight', async () => (await sight()) === all);
  await page.context().close();
});

it('what another has changed meanwhile is told, and not written over', async () => {
  const page = await visit(rack, { at, name: 'ana' });
  await windowOf(page).waitFor();
  const was = (await rack.node(node)).wanted;
  await draw.mouse(page, windowOf(page), 10, 0);
  await change(page).waitFor();
  const theirs = { gain_db: was.gain_db - 1, waiver: { who: 'ben', reason: 'heard it' } };
  assert.equal((await rack.set(node, theirs)).status, 200);
  await change(page).getByText('ben changed this node while you were editing').waitFor();
  assert.equal(
    await change(page)
      .getByRole('button', { name: /^Change it/ })
      .isDisabled(),
    true,
  );
  await page.context().close();
});

it('without a feed nothing can be drawn along', async () => {
  const page = await visit(rack, { at, name: 'ana' });
  await windowOf(page).waitFor();
  await rack.daemon.end('SIGKILL');
  await page
    .getByRole('alert')
    .filter({ hasText: /No live feed since \d/ })
    .waitFor();
  for (const slider of [windowOf(page), gainOf(page)]) {
    assert.equal(await slider.getAttribute('aria-disabled'), 'true');
    const was = await valueOf(slider);
    await draw.mouse(page, slider, 20, 20);
    assert.equal(await valueOf(slider), was);
  }
  assert.equal(await change(page).count(), 0);
  await page.context().close();
});
