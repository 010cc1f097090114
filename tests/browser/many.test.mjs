// SPDX-License-Identifier: Apache-2.0
// A rack of 256 nodes: everything is there, and everything can be found.
import assert from 'node:assert/strict';
import { it } from 'node:test';

import { oneRack, rack } from './beginnings.mjs';
import { visit } from './browser.mjs';
import { eventually } from './eventually.mjs';
import { Rack } from './rack.mjs';

oneRack(() => Rack.simulated(256), (nodes) => nodes.allRead());

for (const size of ['desk', 'phone'])
  it(`at ${size} size`, async () => {
    const page = await visit(rack, { size, name: 'ana' });
    const cards = page.getByRole('article');
    await eventually('all are there', async () => (await cards.count()) === 256);
    await page.getByRole('searchbox').fill('truss 3,');
    await eventually('those of one place are left', async () => (await cards.count()) === 26);
    await page.getByRole('searchbox').fill('n137');
    await eventually('one is left', async () => (await cards.count()) === 1);
    await page.getByRole('link', { name: 'n137', exact: true }).click();
    await page.getByLabel('Gain', { exact: true }).waitFor();
    await page.goto(`${rack.url}/#/grid`);
    await page.getByRole('searchbox').fill('');
    await page.getByRole('radio', { name: 'By line' }).check();
    for (const line of ['line-1', 'line-2', 'line-3', 'line-4'])
      assert.equal(await page.getByRole('region', { name: line }).getByRole('article').count(), 64);
    // A switch of all of them is followed to its end.
    await page.goto(`${rack.url}/#/order`);
    const to = (await rack.ask('GET', '/rack')).body.segment === 'evening' ? 'night' : 'evening';
    await rack.ask('POST', '/switch', { segment: to, waiver: { who: 'ana', reason: 'test' } });
    await page.getByRole('region', { name: 'The switch' }).getByRole('heading', { name: /done/ }).waitFor();
    assert.deepEqual(page.complaints, []);
  });
