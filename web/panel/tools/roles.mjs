// SPDX-License-Identifier: Apache-2.0
// Which role each act of the API needs, out of the API document: what a role may not do is not offered.
import { readFileSync, writeFileSync } from 'node:fs';

export function writeRoles(openapi, to) {
  const { paths } = JSON.parse(readFileSync(openapi, 'utf8'));
  const lines = [];
  for (const [path, item] of Object.entries(paths))
    for (const [method, operation] of Object.entries(item))
      if (method !== 'get' && operation['x-role'])
        lines.push(`  '${method.toUpperCase()} ${path}': '${operation['x-role']}',\n`);
  writeFileSync(to, `// Made by tools/roles.mjs from the API document.
export const neededRole: Readonly<Record<string, 'watch' | 'operate' | 'engineer'>> = {
${lines.join('')}};
`);
}
