// SPDX-License-Identifier: Apache-2.0
// Which packages the bundler has put into the page, and whose they are.
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';

// [{name, version, spdx, text}], by name. A package without a licence text stops the build: nobody could
// say what is to be said of it.
export function packagesIn(metafile, folder) {
  const names = new Set();
  for (const input of Object.keys(metafile.inputs)) {
    const found = input.match(/(?:^|.*\/)node_modules\/((?:@[^/]+\/)?[^/]+)\//);
    if (found) names.add(found[1]);
  }
  return [...names].sort().map((name) => {
    const home = join(folder, 'node_modules', name);
    const { version, license } = JSON.parse(readFileSync(join(home, 'package.json'), 'utf8'));
    const file = readdirSync(home).find((one) => /^licen[cs]e(\.(md|txt))?$/i.test(one));
    if (!license || !file) throw new Error(`${name} says no licence, or has no text of it`);
    return { name, version, spdx: license, text: readFileSync(join(home, file), 'utf8') };
  });
}

export const noticesOf = (packages) =>
  packages
    .map(({ name, version, spdx, text }) => `${name} ${version}: ${spdx}\n\n${text.trimEnd()}\n`)
    .join(`\n${'-'.repeat(78)}\n\n`);
