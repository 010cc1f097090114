// SPDX-License-Identifier: Apache-2.0
// What somebody looks for is where they look, whole, and still there after F5: at a desk and on a phone.
import assert from 'node:assert/strict';
import { describe, it } from 'node:test';

import { oneRack, rack } from './beginnings.mjs';
import { sizes, visit } from './browser.mjs';
import { eventually } from './eventually.mjs';
import { Rack } from './rack.mjs';

oneRack(() => Rack.harbour());

const waiver = { who: 'ana', reason: 'rehearsal' };
const gainOf = (page) => page.getByLabel('Gain', { exact: true }).first();
const change = (page) => page.getByRole('form', { name: 'The change' });
// A chain that gains too much: a caution, and no more.
const cautionOf = (page) => change(page).getByText(/^Caution: it needs somebody/);

async function editWithCaution(page) {
  await eventually('the node can be set', () => gainOf(page).isEnabled());
  await gainOf(page).click();
  await gainOf(page).fill('14');
  await cautionOf(page).waitFor();
}

const covers = async (upper, lower) => {
  const [a, b] = [await upper.boundingBox(), await lower.boundingBox()];
  return a.x < b.x + b.width && b.x < a.x + a.width && a.y < b.y + b.height && b.y < a.y + a.height;
};

for (const size of Object.keys(sizes))
  describe(size, () => {
    for (const at of ['#/node/truss-left', '#/spectrum?node=truss-left'])
      it(`a caution leaves the field in sight that it is about, and asks when it is pressed, at ${at}`, async () => {
        const page = await visit(rack, { size, at, name: 'ana' });
        await editWithCaution(page);
        await eventually('the field is free', async () => !(await covers(change(page), gainOf(page))));
        assert.equal(await change(page).getByLabel('Reason').count(), 0);
        await change(page).getByRole('button', { name: /^Change it, in spite of the caution …/ }).click();
        const reason = change(page).getByLabel('Reason');
        await eventually('the reason can be written', () =>
          reason.evaluate((element) => element === document.activeElement));
        assert.equal(await change(page).getByRole('button', { name: /^Change it/ }).isDisabled(), true);
        assert.deepEqual(page.complaints, []);
        await page.context().close();
      });

    it('who answers is asked once more where an edit went on, and never in the middle of it', async () => {
      const page = await visit(rack, { size, at: '#/node/truss-left', name: 'ana' });
      await editWithCaution(page);
      const press = change(page).getByRole('button', { name: /^Change it, in spite of the caution …/ });
      await press.click();
      await change(page).getByLabel('Reason').waitFor();
      await gainOf(page).focus();
      for (const gain of ['15', '14']) {
        await gainOf(page).fill(gain);
        await change(page).getByText(`→ ${gain}`).waitFor();
      }
      await press.waitFor();
      assert.equal(await change(page).getByLabel('Reason').count(), 0);
      assert.equal(await gainOf(page).evaluate((field) => field === document.activeElement), true);
      assert.deepEqual(page.complaints, []);
      await page.context().close();
    });

    for (const at of ['#/node/truss-left', '#/spectrum?node=truss-left'])
      it(`the field in hand comes out from under the bar when there is less room, at ${at}`, async () => {
        const page = await visit(rack, { size, at, name: 'ana' });
        await editWithCaution(page);
        const { width, height } = page.viewportSize();
        await page.setViewportSize({ width, height: Math.round(0.75 * height) });
        await eventually('the field is free', async () => !(await covers(change(page), gainOf(page))));
        assert.equal(await gainOf(page).evaluate((field) => field === document.activeElement), true);
        assert.deepEqual(page.complaints, []);
        await page.context().close();
      });

    it('edits that are not sent are here again after F5, and dropped where the node was set otherwise', async () => {
      const page = await visit(rack, { size, at: '#/node/truss-left', name: 'ana' });
      await editWithCaution(page);
      await page.reload();
      const bar = page.getByRole('status').filter({ hasText: 'Edited before this page was loaded anew, and not sent: truss-left' });
      await bar.waitFor();
      await cautionOf(page).waitFor();
      assert.equal(Number(await gainOf(page).inputValue()), 14);
      // Somebody sets something else of it, and puts it back: nothing of the edit is contradicted.
      const { gain_db: before } = (await rack.node('truss-left')).wanted;
      for (const gain_db of [before - 1, before])
        assert.equal((await rack.set('truss-left', { gain_db, waiver })).status, 200);
      await page.reload();
      await cautionOf(page).waitFor();
      assert.equal(await page.getByRole('alert').filter({ hasText: 'changed this node' }).count(), 0);
      assert.equal((await rack.set('truss-left', { gain_db: before - 1, waiver })).status, 200);
      await page.reload();
      await page.getByText('Edits dropped: truss-left has been set otherwise since.').waitFor();
      assert.equal(await change(page).count(), 0);
      await page.getByRole('button', { name: 'Seen' }).click();
      await page.reload();
      await gainOf(page).waitFor();
      assert.equal(await page.getByText('Edits dropped').count(), 0);
      await rack.set('truss-left', { gain_db: before, waiver });
      assert.deepEqual(page.complaints, []);
      await page.context().close();
    });

    it('dates and times in the journal are not cut', async () => {
      const page = await visit(rack, { size, at: '#/journal', name: 'ana' });
      for (const name of ['From', 'To']) {
        const field = page.getByLabel(name, { exact: true });
        await field.fill('2026-11-30T23:55');
        const { has, needs } = await field.evaluate((element) => {
          const has = element.offsetWidth;
          element.style.width = 'max-content';
          const needs = element.offsetWidth;
          element.style.width = '';
          return { has, needs };
        });
        assert.ok(has >= needs, `${name} has ${has} px of ${needs}`);
      }
      // Fields are not all that a phone shows of a journal.
      const { height } = page.viewportSize();
      const filters = await page.getByRole('search', { name: 'Filters of the journal' }).boundingBox();
      assert.ok(filters.y + filters.height < 0.8 * height, `filters end at ${filters.y + filters.height}`);
      await page.context().close();
    });

    it('names in the list of nodes, and what there is to say of each, are whole', async () => {
      const page = await visit(rack, { size, at: '#/grid', name: 'ana' });
      rack.truss.say('knob 7a10-00000201 gain 14');
      await eventually('there is much to say', async () => (await rack.node('truss-left')).conditions.length > 1);
      await page.getByLabel('List', { exact: true }).check();
      await page.locator('.node-row').getByText('changed by hand').waitFor();
      const cut = await page.locator('.node-row-name > *').evaluateAll((all) =>
        all.filter((element) => element.scrollWidth > element.clientWidth || element.scrollHeight > element.clientHeight + 2)
          .map((element) => element.textContent));
      assert.deepEqual(cut, []);
      const { etag } = await rack.ask('GET', '/nodes/truss-left/settings');
      assert.equal((await rack.ask('POST', '/nodes/truss-left/reapply', { waiver }, { 'If-Match': etag })).status, 200);
      await page.context().close();
    });

    it('after a switch the verdict on the cue that is chosen stands beside it', async () => {
      assert.equal((await rack.ask('POST', '/switch', { segment: 'speeches', waiver }, { 'Catwalk-User': 'ana' })).status, 200);
      const page = await visit(rack, { size, at: '#/order', name: 'ana' });
      await page.getByRole('region', { name: 'Crew sheet, under way' }).waitFor();
      const verdict = page.getByText(/^(It can go|It would be refused)/);
      await verdict.waitFor();
      const go = page.getByRole('button', { name: 'Go …' });
      const [said, pressed] = [await verdict.boundingBox(), await go.boundingBox()];
      assert.ok(Math.abs(said.y - pressed.y) < 120, `${said.y} and ${pressed.y}`);
      const ahead = await page.getByRole('region', { name: 'What it would do' }).boundingBox();
      const last = await page.getByRole('region', { name: 'Crew sheet, under way' }).boundingBox();
      assert.ok(ahead.y < last.y, 'what is ahead comes before what is over');
      assert.equal((await rack.ask('POST', '/switch', { segment: 'arrival', waiver }, { 'Catwalk-User': 'ana' })).status, 200);
      await page.context().close();
    });
  });
