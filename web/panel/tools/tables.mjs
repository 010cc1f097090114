// SPDX-License-Identifier: Apache-2.0
// What of the API document is needed while the page runs, as values: the role that each act needs,
// so that what a person may not do is not offered; and the kinds of rows in the journal.
import { readFileSync, writeFileSync } from 'node:fs';

export function writeTables(openapi, to) {
  const { paths } = JSON.parse(readFileSync(openapi, 'utf8'));
  const lines = [];
  for (const [path, item] of Object.entries(paths))
    for (const [method, operation] of Object.entries(item))
      if (operation['x-role'])
        lines.push(`  '${method.toUpperCase()} ${path}': '${operation['x-role']}',\n`);
  const kinds = paths['/journal'].get.parameters.find(({ name }) => name === 'kind').schema.enum;
  writeFileSync(
    to,
    `// Made by tools/tables.mjs from the API document.
export const neededRole: Readonly<Record<string, 'watch' | 'operate' | 'engineer'>> = {
${lines.join('')}};

export const journalKinds: readonly string[] = ${JSON.stringify(kinds)};
`,
  );
}
