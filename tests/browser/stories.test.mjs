// SPDX-License-Identifier: Apache-2.0
// The three acceptance stories, by mouse, by touch at 390 × 844, and by keyboard alone. What the page
// says is held against what the API says.
import assert from 'node:assert/strict';
import { describe, it } from 'node:test';

import { manyRacks } from './beginnings.mjs';
import { visit } from './browser.mjs';
import { eventually } from './eventually.mjs';
import { answerForTheWay, changeAndSee, hands, seen } from './hands.mjs';
import { Rack } from './rack.mjs';

manyRacks();

for (const [name, hand] of Object.entries(hands))
  describe(`by ${name}`, () => {
    it('an engineer changes an antenna in the grid from the rack, and sees it read back', async () => {
      const rack = await Rack.harbour();
      try {
        await rack.ready();
        const page = await visit(rack, { size: hand.size, name: 'ana' });
        await hand.press(page.getByRole('link', { name: 'truss-left' }));
        const gain = page.getByLabel('Gain', { exact: true });
        await gain.waitFor();
        const before = (await rack.node('truss-left')).wanted;
        const wish = before.gain_db - 1;
        await hand.write(gain, String(wish));
        assert.equal((await rack.node('truss-left')).wanted.revision, before.revision, 'nothing is sent yet');
        await changeAndSee(page, hand, 'truss-left');
        const now = await rack.node('truss-left');
        assert.equal(now.seen.settings.gain_db, wish);
        assert.equal(now.agreement, 'agreed');
        const entries = (await rack.ask('GET', '/journal?node=truss-left&kind=intent')).body.entries;
        assert.equal(entries[0].who, 'ana');
        assert.deepEqual(page.complaints, []);
      } finally {
        await rack.stop();
      }
    });

    it('a segment is looked at before, gone to, and seen to arrive node by node', async () => {
      const rack = await Rack.harbour();
      try {
        await rack.ready();
        const page = await visit(rack, { size: hand.size, at: '#/order', name: 'ana' });
        const next = (await rack.ask('GET', '/running-order')).body;
        const cue = next.cues.find((one) => one.name === next.next);
        await hand.press(page.getByRole('button', { name: 'Go …' }));
        const dialog = page.getByRole('dialog');
        await answerForTheWay(dialog, hand);
        await hand.press(dialog.getByRole('button', { name: 'Go now' }));
        await dialog.waitFor({ state: 'hidden' });
        const progress = page.getByRole('region', { name: 'The switch' });
        const { segments } = (await rack.ask('GET', '/rack')).body;
        const { title } = segments.find((one) => one.name === cue.segment);
        await seen(progress.getByRole('heading', { name: `${title}: done` }));
        const ended = (await rack.ask('GET', '/switch')).body;
        assert.equal(ended.stage, 'done');
        assert.equal(ended.to, cue.segment);
        for (const node of ended.nodes) assert.equal(await progress.getByText(node.node).count() > 0, true, node.node);
        assert.equal((await rack.ask('GET', '/rack')).body.segment, cue.segment);
        assert.deepEqual(page.complaints, []);
      } finally {
        await rack.stop();
      }
    });

    it('on the bench a simulated node loses its power, and somebody acknowledges it', async () => {
      const rack = await Rack.bench((setup) => {
        setup.lines[2].script = ['at 2s power 7a10-00000302 off'];
      });
      try {
        const page = await visit(rack, { size: hand.size, at: '#/alarms', name: 'ana' });
        const acknowledge = page.getByRole('button', { name: 'Acknowledge: no supply quay-west' });
        await hand.press(acknowledge);
        await eventually('it is acknowledged', async () =>
          (await rack.ask('GET', '/alarms')).body.alarms.some(
            ({ kind, subject, active, acknowledged_by: by }) =>
              kind === 'passive' && subject === 'quay-west' && active && by === 'ana'));
        await acknowledge.waitFor({ state: 'hidden' });
        await hand.press(page.getByRole('link', { name: 'quay-west' }).first());
        await page.getByText('no supply').filter({ visible: true }).first().waitFor();
        assert.deepEqual(page.complaints, []);
      } finally {
        await rack.stop();
      }
    });
  });
