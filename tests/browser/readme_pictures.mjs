// SPDX-License-Identifier: Apache-2.0
// Takes the pictures of the README into the folder that is named; readme_pictures.sh runs it.
import path from 'node:path';

import { closeBrowser, openBrowser, visit } from './browser.mjs';
import { Rack } from './rack.mjs';

const folder = process.argv[2];
if (!folder) throw new Error('readme_pictures.mjs needs the folder to write to');

await openBrowser();
const rack = await Rack.harbour();
try {
  await rack.ready();
  rack.truss.say('knob 7a10-00000201 gain 12');
  const take = async (name, size, at, until) => {
    const page = await visit(rack, { size, at, name: 'ana' });
    await until(page).first().waitFor();
    await page.waitForLoadState('networkidle').catch(() => {});
    await page.screenshot({ path: path.join(folder, `${name}.png`) });
  };
  await take('grid', 'desk', '#/node/truss-left', (page) => page.getByText('changed by hand'));
  await take('spectrum', 'desk', '#/spectrum?node=truss-left', (page) => page.getByRole('heading', { level: 1 }));
  await take('phone', 'phone', '#/node/truss-left', (page) => page.getByText('changed by hand').filter({ visible: true }));
} finally {
  await rack.stop();
  await closeBrowser();
}
