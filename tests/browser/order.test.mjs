// SPDX-License-Identifier: Apache-2.0
// The running order when it is not simple: one segment twice, a key that is held, a locked rack, and
// a switch that does not end by itself, at a desk and on a phone.
import assert from 'node:assert/strict';
import { describe, it } from 'node:test';

import { manyRacks, withRack } from './beginnings.mjs';
import { visit } from './browser.mjs';
import { eventually } from './eventually.mjs';
import { answerForTheWay, hands } from './hands.mjs';
import { Rack } from './rack.mjs';

manyRacks();

// Speeches before the concert and after it; the concert follows the first ones by itself.
const twice = (setup, show) => {
  show.running_order.cues = [
    { segment: 'arrival' },
    { segment: 'speeches', name: 'speeches-1' },
    { segment: 'regatta-concert', after: 'speeches', after_s: 3600 },
    { segment: 'speeches', name: 'speeches-2' },
    { segment: 'lantern-parade' },
  ];
};
const rowOf = (page, name) => page.getByRole('listitem').getByRole('button', { name: new RegExp(`${name} `) });

describe('one segment twice in the running order', () => {
  it('each cue is chosen, armed and marked by itself, by arrow keys too', () =>
    withRack(() => Rack.harbour(twice), async (rack) => {
      await rack.ready();
      const page = await visit(rack, { at: '#/order', name: 'ana' });
      const pressed = () => page.locator('.cues [aria-pressed=true] .quiet').innerText();
      await rowOf(page, 'arrival').click();
      for (const name of ['speeches-1', 'regatta-concert', 'speeches-2', 'lantern-parade']) {
        await page.keyboard.press('ArrowDown');
        await eventually(`${name} is chosen`, async () => (await pressed()).startsWith(`${name} `));
      }
      await rowOf(page, 'speeches-2').click();
      await page.getByRole('button', { name: 'Arm …' }).click();
      const dialog = page.getByRole('dialog');
      await answerForTheWay(dialog, hands.mouse);
      await dialog.getByRole('button', { name: 'Arm it' }).click();
      await rowOf(page, 'speeches-2').getByText('armed', { exact: true }).waitFor();
      assert.equal(await rowOf(page, 'speeches-1').getByText('armed', { exact: true }).count(), 0);
      assert.equal((await rack.ask('GET', '/running-order')).body.armed.cue, 'speeches-2');
      assert.deepEqual(page.complaints, []);
    }));

  it('the dialog says what follows by itself, and a key that is held does not go', () =>
    withRack(() => Rack.harbour(twice), async (rack) => {
      await rack.ready();
      const page = await visit(rack, { at: '#/order', name: 'ana' });
      await rowOf(page, 'speeches-2').click();
      await page.getByText('Going by hand takes speeches-1').waitFor();
      await rowOf(page, 'speeches-1').click();
      const go = page.getByRole('button', { name: 'Go …' });
      await eventually('it can be pressed', () => go.isEnabled());
      await go.focus();
      // Down once, and then as a keyboard repeats it.
      await page.keyboard.down('Enter');
      const dialog = page.getByRole('dialog');
      await dialog.waitFor();
      for (let i = 0; i < 5; ++i) await page.keyboard.down('Enter');
      await page.keyboard.up('Enter');
      assert.equal(await dialog.isVisible(), true);
      assert.equal((await rack.ask('GET', '/rack')).body.segment, 'arrival');
      const { segments } = (await rack.ask('GET', '/segments')).body;
      const { if_a_node_fails: policy } = segments.find(({ name }) => name === 'speeches');
      await dialog
        .getByText(policy === 'go on' ? 'If a node fails it goes on without it.' : 'All nodes move, or none.')
        .waitFor();
      await dialog.getByText(/ follows by itself 60 min later\.$/).waitFor();
      assert.deepEqual(page.complaints, []);
    }));
});

describe('under the show lock', () => {
  it('arming is not said to be refused for the lock that it is for', () =>
    withRack(() => Rack.harbour(twice), async (rack) => {
      await rack.ready();
      await rack.ask('POST', '/rack/lock', {}, { 'Catwalk-User': 'mara' });
      const page = await visit(rack, { at: '#/order', name: 'ana' });
      await rowOf(page, 'speeches-1').click();
      await page.getByText(/^Once it is armed: It can go/).waitFor();
      await page.getByRole('button', { name: 'Arm …' }).click();
      const dialog = page.getByRole('dialog');
      await dialog.getByText(/^It can go/).waitFor();
      assert.equal(await dialog.getByText('refused').count(), 0);
      await dialog.getByRole('button', { name: 'Do not' }).click();
      await page.goto(`${rack.url}/#/node/truss-left`);
      const gain = page.getByLabel('Gain', { exact: true });
      await gain.fill('1');
      await page.getByRole('form', { name: 'The change' }).getByText('The rack is locked by mara').waitFor();
    }));
});

describe('a segment that is in no cue', () => {
  const without = (setup, show) => {
    show.running_order.cues = show.running_order.cues.filter(({ segment }) => segment !== 'finale');
  };
  it('cannot be armed, and not be gone to before the rack is unlocked', () =>
    withRack(() => Rack.harbour(without), async (rack) => {
      await rack.ready();
      const page = await visit(rack, { at: '#/order', name: 'ana' });
      await rowOf(page, 'finale,').click();
      const go = page.getByRole('button', { name: 'Go …' });
      await eventually('it can be gone to', () => go.isEnabled());
      await rack.ask('POST', '/rack/lock', {}, { 'Catwalk-User': 'mara' });
      await page.getByText('The rack is locked: unlock it first; only cues can be armed.').waitFor();
      await page.getByText(/^It would be refused/).waitFor();
      assert.equal(await go.isDisabled(), true);
      assert.equal(await page.getByRole('button', { name: 'Arm …' }).isDisabled(), true);
    }));
});

// From arrival to speeches the choir goes off and guests come on.
const sheetOf = (page, region = 'What it would do') =>
  page.getByRole('region', { name: region }).getByRole('group', { name: 'Crew sheet' });
const boxOf = (page, what, region) => sheetOf(page, region).getByRole('checkbox', { name: what });

describe('the crew sheet', () => {
  it('is ticked with a thumb and by keyboard, seen by all, and warned of where somebody goes', () =>
    withRack(Rack.harbour, async (rack) => {
      await rack.ready();
      const phone = await visit(rack, { size: 'phone', at: '#/order', name: 'bo' });
      const desk = await visit(rack, { at: '#/order', name: 'ana' });
      for (const page of [phone, desk]) await rowOf(page, 'speeches').click();
      await boxOf(phone, /^vocal-1 off/).tap();
      for (const page of [phone, desk])
        await eventually('the tick is there', () => boxOf(page, /^vocal-1 off/).isChecked());
      await sheetOf(desk).getByText(/^bo, /).waitFor();
      await boxOf(desk, /^vocal-1 off/).press('Space');
      await eventually('it is gone on the phone', async () => !(await boxOf(phone, /^vocal-1 off/).isChecked()));
      await boxOf(desk, /^vocal-2 off/).press('Space');
      await eventually('another one is there', () => boxOf(phone, /^vocal-2 off/).isChecked());
      const go = desk.getByRole('button', { name: 'Go …' });
      await eventually('it can be gone to', () => go.isEnabled());
      await go.click();
      const dialog = desk.getByRole('dialog');
      await dialog.getByText(/^5 of 6 to do before it are not ticked: vocal-1 off/).waitFor();
      await dialog.getByRole('button', { name: 'Do not' }).click();
      // It goes all the same; and what comes on is ticked when the nodes are there.
      const waiver = { who: 'ana', reason: 'rehearsal' };
      const { status } = await rack.ask('POST', '/switch', { segment: 'speeches', waiver }, { 'Catwalk-User': 'ana' });
      assert.equal(status, 200);
      await boxOf(phone, /^guest-1 on/, 'Crew sheet, under way').tap();
      await eventually('a guest is on', () => boxOf(desk, /^guest-1 on/, 'Crew sheet, under way').isChecked());
      for (const page of [phone, desk]) assert.deepEqual(page.complaints, []);
    }));

  it('is printed by itself, and looked at from any segment', () =>
    withRack(Rack.harbour, async (rack) => {
      await rack.ready();
      const page = await visit(rack, { at: '#/order', name: 'ana' });
      await rowOf(page, 'finale').click();
      await page.getByLabel('Look at the way from').selectOption('speeches');
      await page.getByText(/^From every node as .* has it, not as they are now/).waitFor();
      await boxOf(page, /^guest-1 off/).waitFor();
      await page.evaluate(() => void (window.print = () => {}));
      await page.emulateMedia({ media: 'print' });
      await page.getByRole('button', { name: 'Print the crew sheet' }).click();
      await page.locator('.paper').getByText('guest-1 off, 541.450 MHz').waitFor();
      assert.equal(await page.locator('header.strip').isVisible(), false);
      await page.evaluate(() => void dispatchEvent(new Event('afterprint')));
      assert.equal(await page.locator('.paper').count(), 0);
      assert.equal(await page.locator('header.strip').isVisible(), true);
      assert.deepEqual(page.complaints, []);
    }));
});

for (const size of ['desk', 'phone'])
  describe(`a switch that takes its time, ${size}`, () => {
    it('Abort is on the screen at once, and nothing jumps', () =>
      withRack(Rack.harbour, async (rack) => {
        await rack.ready();
        const page = await visit(rack, { size, at: '#/order', name: 'ana' });
        const strip = page.locator('header.strip');
        await page.getByRole('button', { name: 'Go …' }).waitFor();
        const before = await strip.boundingBox();
        await page.getByRole('listitem').last().scrollIntoViewIfNeeded();
        // The quay hears nothing more: the switch waits for it until its patience ends.
        rack.quay.child.kill('SIGSTOP');
        const waiver = { who: 'ana', reason: 'rehearsal' };
        await rack.ask('POST', '/switch', { segment: 'speeches', waiver },
          { 'Catwalk-User': 'ana', Prefer: 'respond-async' });
        const abort = page.getByRole('button', { name: /^Abort/ });
        await abort.waitFor();
        const { height } = page.viewportSize();
        await eventually('Abort is on the screen', async () => {
          const box = await abort.boundingBox();
          return box !== null && box.y >= before.height && box.y + box.height <= height;
        });
        assert.equal((await strip.boundingBox()).height, before.height);
        await page.getByRole('region', { name: 'The switch' }).waitFor();
        rack.quay.child.kill('SIGCONT');
        await abort.waitFor({ state: 'hidden' });
        // Locked as well, and armed.
        await rack.ask('POST', '/rack/lock', {}, { 'Catwalk-User': 'mara' });
        await rack.ask('POST', '/running-order/arm', { cue: 'finale', waiver }, { 'Catwalk-User': 'ana' });
        await strip.getByText(/^Armed/).waitFor();
        assert.equal((await strip.boundingBox()).height, before.height);
      }));
  });

for (const size of ['desk', 'phone'])
  describe(`a switch that is left stuck, ${size}`, () => {
    it('is told node by node with what to do, and so it is after a restart', () =>
      withRack(Rack.harbour, async (rack) => {
        const all = [rack.truss, rack.quay];
        const now = async () => (await rack.ask('GET', '/switch')).body;
        // From the moment that a step is put in force nobody hears anything: neither there nor back. Whoever
        // was quicker than that has arrived, and goes again.
        await eventually('a switch is stuck', async () => {
          for (const { child } of all) child.kill('SIGCONT');
          await rack.allRead();
          await rack.ready();
          const waiver = { who: 'ana', reason: 'rehearsal' };
          const { body: answer } = await rack.ask('POST', '/switch', { segment: 'finale', waiver }, { Prefer: 'respond-async' });
          const mine = async () => ((one) => one.id === answer.change && one)(await now());
          await eventually('a step is put in force', async () =>
            ((one) => one && (one.ended || ['applying', 'reading-back'].includes(one.stage)))(await mine()));
          for (const { child } of all) child.kill('SIGSTOP');
          await eventually('it ends', async () => ((one) => one && one.ended)(await mine()));
          if ((await now()).stage === 'stuck') return true;
          await rack.ask('POST', '/rack/segment', { segment: 'arrival' });
          return false;
        });
        const page = await visit(rack, { size, at: '#/order', name: 'ana' });
        const left = page.getByRole('region', { name: 'The switch' }).getByRole('alert');
        await left.getByText(/See to its line and its supply/).first().waitFor();
        const beside = () => page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
        await eventually('the page is as wide as the screen', async () => (await beside()) <= 0);
        for (const { child } of all) child.kill('SIGCONT');
        await rack.daemon.end();
        await rack.startDaemon();
        await left.getByText(/go to arrival or to finale\./).first().waitFor();
        await page.getByText(/^It was stuck before the daemon was restarted\./).waitFor();
        assert.equal((await now()).nodes.every(({ word, what_to_do }) => word && what_to_do), true);
      }));
  });
