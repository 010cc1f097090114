// SPDX-License-Identifier: Apache-2.0
// What a person can rely on: nothing old is shown as live, nothing of somebody else's is written over,
// nobody is offered what they may not do.
import assert from 'node:assert/strict';
import { describe, it } from 'node:test';

import { manyRacks, withRack } from './beginnings.mjs';
import { visit } from './browser.mjs';
import { eventually } from './eventually.mjs';
import { changeAndSee, changeIt, hands } from './hands.mjs';
import { Rack } from './rack.mjs';

manyRacks();

describe('the feed', () => {
  it('when it is cut the page says since when and offers nothing, and when it is back goes on', () =>
    withRack(Rack.harbour, async (rack) => {
      await rack.ready();
      const page = await visit(rack, { at: '#/node/truss-left', name: 'ana' });
      const gain = page.getByLabel('Gain', { exact: true });
      await eventually('the node can be set', () => gain.isEnabled());
      await rack.daemon.end('SIGKILL');
      const bar = page.getByRole('alert').filter({ hasText: /No live feed since \d/ });
      await bar.waitFor();
      assert.equal(await gain.isDisabled(), true);
      for (const button of await page.getByRole('button', { name: /^(Change|Blink|Recommend|Go|Arm|Lock)/ }).all())
        assert.equal(await button.isDisabled(), true, await button.innerText());
      await rack.startDaemon();
      await bar.waitFor({ state: 'hidden' });
      await eventually('the node can be set again', () => gain.isEnabled());
      // Until then a change is put off: the daemon asks whom the nodes obey.
      const isOurs = async () => (await rack.ask('GET', '/rack')).body.control === 'ours';
      await eventually('the nodes are ours again', isOurs);
      await hands.mouse.write(gain, String((await rack.node('truss-left')).wanted.gain_db - 1));
      await changeAndSee(page, hands.mouse, 'truss-left');
    }));

  it('a node that falls silent is shown as it was, with its age, and not as live', () =>
    withRack(Rack.harbour, async (rack) => {
      await rack.ready();
      const page = await visit(rack, { name: 'ana' });
      rack.quay.child.kill('SIGSTOP');
      const card = page.getByRole('article').filter({ hasText: 'quay-east' });
      await card.getByText('silent').waitFor();
      rack.quay.child.kill('SIGCONT');
      await card.getByText('silent').waitFor({ state: 'hidden' });
    }));
});

describe('two controllers', () => {
  it('one that finds another only watches and says so, until somebody takes over on the page', () =>
    withRack(Rack.harbour, async (rack) => {
      await rack.ready();
      // Another machine with the same files: it knows nothing of what was before.
      await rack.daemon.end();
      rack.forget();
      await rack.startDaemon();
      const page = await visit(rack, { at: '#/node/quay-east', name: 'ana' });
      const bar = page.getByRole('alert').filter({ hasText: 'Only watching.' });
      await bar.waitFor();
      // Nodes tell whom they obey before they are read.
      await eventually('it is read', async () => (await rack.node('quay-east')).seen !== undefined);
      const { gain_db: gain } = (await rack.node('quay-east')).seen.settings;
      assert.equal((await rack.ask('POST', '/switch', {})).status, 409);
      // It is shown as it is seen, and nothing can be set or sent.
      await page.getByText('Another controller has it: it is shown as it is seen').waitFor();
      const field = page.getByLabel('Gain', { exact: true });
      assert.equal(await field.isDisabled(), true);
      assert.equal(Number(await field.inputValue()), gain);
      assert.equal(await page.getByRole('button', { name: 'Recommend' }).count(), 0);
      await page.getByRole('button', { name: 'Take over …' }).click();
      const dialog = page.getByRole('dialog');
      await dialog.getByRole('textbox').fill('the first machine does not start');
      await dialog.getByRole('button', { name: 'Take over', exact: true }).click();
      await bar.waitFor({ state: 'hidden' });
      await page.getByRole('button', { name: 'Locked by ana' }).waitFor();
      await eventually('it is ours as it was', async () => {
        const { wanted, agreement } = await rack.node('quay-east');
        return agreement === 'agreed' && wanted.gain_db === gain;
      });
    }));
});

describe('two people', () => {
  it('who edits what another has changed meanwhile is told, and nothing is written over', () =>
    withRack(Rack.harbour, async (rack) => {
      await rack.ready();
      const first = await visit(rack, { at: '#/node/truss-left', name: 'ana' });
      const second = await visit(rack, { at: '#/node/truss-left', name: 'ben' });
      const before = (await rack.node('truss-left')).wanted.gain_db;
      const gainOf = (page) => page.getByLabel('Gain', { exact: true });
      await hands.mouse.write(gainOf(second), String(before - 2));
      await hands.mouse.write(gainOf(first), String(before - 1));
      await changeAndSee(first, hands.mouse, 'truss-left');
      // Ben's edit stands, is not sent, and he is told whose is in force.
      const told = second.getByRole('alert').filter({ hasText: 'ana changed this node while you were editing' });
      await told.waitFor();
      assert.equal(await second.getByRole('button', { name: /^Change it/ }).isDisabled(), true);
      assert.equal((await rack.node('truss-left')).seen.settings.gain_db, before - 1);
      await told.getByRole('button', { name: 'Put my edits on top of theirs' }).click();
      await changeAndSee(second, hands.mouse, 'truss-left');
      assert.equal((await rack.node('truss-left')).seen.settings.gain_db, before - 2);
    }));

  it('a change that crosses another on the wire is refused by the daemon, and told the same', () =>
    withRack(Rack.harbour, async (rack) => {
      await rack.ready();
      const page = await visit(rack, { at: '#/node/truss-left', name: 'ana' });
      const before = (await rack.node('truss-left')).wanted.gain_db;
      // Another's change lands after the page has looked, and before its own request arrives.
      let crossed = false;
      await page.route('**/settings', async (route) => {
        if (route.request().method() === 'PATCH' && !crossed) {
          crossed = true;
          const other = await rack.set('truss-left', { gain_db: before - 3, waiver: { who: 'ben', reason: 'test' } });
          assert.equal(other.status, 200, JSON.stringify(other.body));
        }
        await route.continue();
      });
      await hands.mouse.write(page.getByLabel('Gain', { exact: true }), String(before - 1));
      await changeIt(page, hands.mouse);
      await page.getByRole('alert').filter({ hasText: 'changed this node while you were editing' }).waitFor();
      assert.equal((await rack.node('truss-left')).seen.settings.gain_db, before - 3);
    }));
});

describe('roles', () => {
  const signIn = async (rack, role) => {
    const page = await visit(rack, { at: '#/node/truss-left' });
    await page.getByLabel('Token').fill(`token of ${role}`);
    await page.getByRole('button', { name: 'Sign in' }).click();
    await page.getByRole('heading', { name: 'truss-left' }).first().waitFor();
    return page;
  };

  it('nobody comes in without a token, and scripts cannot read what a login is', () =>
    withRack(() => Rack.harbour(Rack.guarded), async (rack) => {
      const page = await visit(rack);
      await page.getByLabel('Token').fill('token of nobody');
      await page.getByRole('button', { name: 'Sign in' }).click();
      await page.getByText('This token is not known here.').waitFor();
      await page.getByLabel('Token').fill('token of watch');
      await page.getByRole('button', { name: 'Sign in' }).click();
      await page.getByRole('link', { name: 'truss-left' }).waitFor();
      assert.equal(await page.evaluate(() => document.cookie), '');
      const [cookie] = await page.context().cookies();
      assert.equal(cookie.httpOnly, true);
      assert.equal(cookie.sameSite, 'Strict');
      assert.equal(await page.evaluate(() => JSON.stringify({ ...localStorage, ...sessionStorage }).includes('token of')), false);
    }));

  it('who may only watch is offered nothing to press, and who operates is', () =>
    withRack(() => Rack.harbour(Rack.guarded), async (rack) => {
      await rack.ready({ Authorization: 'Bearer token of operate' });
      const watch = await signIn(rack, 'watch');
      const operate = await signIn(rack, 'operate');
      await hands.mouse.write(operate.getByLabel('Gain', { exact: true }), '0');
      await operate.getByRole('button', { name: /^Change it/ }).waitFor();
      const gain = watch.getByLabel('Gain', { exact: true });
      if (await gain.isEnabled()) await gain.fill('0');
      assert.equal(await watch.getByRole('button', { name: /^(Change it|Blink|Go|Arm)/ }).count(), 0);
      for (const view of ['order', 'alarms']) {
        await watch.goto(`${rack.url}/#/${view}`);
        await watch.getByRole('heading', { level: 1 }).waitFor();
        assert.equal(await watch.getByRole('button', { name: /^(Go|Arm|Acknowledge|Shelve)/ }).count(), 0, view);
      }
    }));

  it('who signs out is out at once, in every window', () =>
    withRack(() => Rack.harbour(Rack.guarded), async (rack) => {
      const page = await signIn(rack, 'operate');
      const other = await page.context().newPage();
      await other.goto(`${rack.url}/`);
      await other.getByRole('link', { name: 'truss-left' }).waitFor();
      await page.getByRole('button', { name: /operate-1/ }).click();
      await page.getByRole('button', { name: /^Sign out/ }).click();
      await page.getByLabel('Token').waitFor();
      await other.getByLabel('Token').waitFor();
    }));

  it('what was edited and not sent is gone for whoever signs in next', () =>
    withRack(() => Rack.harbour(Rack.guarded), async (rack) => {
      await rack.ready({ Authorization: 'Bearer token of operate' });
      const page = await signIn(rack, 'operate');
      await hands.mouse.write(page.getByLabel('Gain', { exact: true }), '0');
      await page.getByRole('form', { name: 'The change' }).waitFor();
      await page.getByRole('button', { name: /operate-1/ }).click();
      await page.getByRole('button', { name: /^Sign out/ }).click();
      await page.getByLabel('Token').fill('token of engineer');
      await page.getByRole('button', { name: 'Sign in' }).click();
      await page.getByLabel('Gain', { exact: true }).waitFor();
      assert.equal(await page.getByRole('form', { name: 'The change' }).count(), 0);
      assert.notEqual(await page.getByLabel('Gain', { exact: true }).inputValue(), '0');
    }));
});
