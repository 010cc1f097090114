// SPDX-License-Identifier: Apache-2.0
// The OpenAPI document, joined out of the parts that lie beside the routes:
//   node join_openapi.mjs OUT
// openapi.json has what all share; every *.openapi.json in a room its paths, and the schemas that
// only these use. What stands in two parts is a fault.
import fs from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';

const here = path.dirname(fileURLToPath(import.meta.url));
const read = (file) => JSON.parse(fs.readFileSync(file, 'utf8'));

function add(all, more, file) {
  for (const [name, value] of Object.entries(more ?? {})) {
    if (name in all) throw new Error(`${file}: ${name} stands in another part, too`);
    all[name] = value;
  }
}

const whole = read(path.join(here, 'openapi.json'));
for (const room of fs.readdirSync(here, { withFileTypes: true }).filter((it) => it.isDirectory()))
  for (const name of fs.readdirSync(path.join(here, room.name)).sort()) {
    if (!name.endsWith('.openapi.json')) continue;
    const file = path.join(room.name, name);
    const part = read(path.join(here, file));
    add(whole.paths, part.paths, file);
    add(whole.components.schemas, part.components?.schemas, file);
  }

const out = process.argv[2];
fs.mkdirSync(path.dirname(path.resolve(out)), { recursive: true });
fs.writeFileSync(out, `${JSON.stringify(whole, null, 1)}\n`);
