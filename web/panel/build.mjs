// SPDX-License-Identifier: Apache-2.0
// node build.mjs --openapi FILE --out DIR [--embed FILE.cpp] [--tests]
//
// Makes the types from the daemon's own API document, checks all sources against them, and bundles.
// A page that asks for what the daemon does not say does not build.
import { execFileSync } from 'node:child_process';
import { mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { build } from 'esbuild';
import { writeEmbedded } from './tools/embed.mjs';
import { noticesOf, packagesIn } from './tools/notices.mjs';
import { writeTables } from './tools/tables.mjs';

const here = dirname(fileURLToPath(import.meta.url));
const { values: options } = parseArgs({
  options: {
    openapi: { type: 'string' },
    out: { type: 'string' },
    embed: { type: 'string' },
    tests: { type: 'boolean', default: false },
  },
});
if (!options.openapi || !options.out)
  throw new Error('build.mjs needs --openapi FILE and --out DIR');

const run = (tool, ...words) => {
  try {
    execFileSync(process.execPath, [join(here, 'node_modules', tool), ...words], {
      cwd: here,
      stdio: ['ignore', 'pipe', 'pipe'],
    });
  } catch (failure) {
    process.stderr.write(`${failure.stdout}${failure.stderr}`);
    process.exit(1);
  }
};

mkdirSync(join(here, 'src/generated'), { recursive: true });
mkdirSync(options.out, { recursive: true });
run('openapi-typescript/bin/cli.js', options.openapi, '--output', 'src/generated/schema.ts');
writeTables(options.openapi, join(here, 'src/generated/tables.ts'));
run('typescript/bin/tsc', '--noEmit', '--project', 'tsconfig.json');

const shared = { bundle: true, absWorkingDir: here, logLevel: 'warning', charset: 'utf8' };
const { metafile } = await build({
  ...shared,
  entryPoints: { app: 'src/main.tsx' },
  metafile: true,
  banner: { js: '/* What others have made of this page: /licences.txt */' },
  outdir: options.out,
  format: 'esm',
  target: 'es2021',
  minify: true,
  legalComments: 'none',
  loader: { '.svg': 'text' },
});

writeFileSync(join(options.out, 'metafile.json'), JSON.stringify(metafile));
const packages = packagesIn(metafile, here);
writeFileSync(join(options.out, 'packages.json'), JSON.stringify(packages));
writeFileSync(join(options.out, 'licences.txt'), noticesOf(packages));

const files = ['index.html', 'icon.svg'].map((name) => ({
  path: `/${name}`,
  from: join(here, name),
}));
for (const name of ['app.js', 'app.css', 'licences.txt'])
  files.push({ path: `/${name}`, from: join(options.out, name) });
const embedded = files.map(({ path, from }) => ({
  path: path === '/index.html' ? '/' : path,
  content: readFileSync(from),
}));
writeEmbedded(embedded, options.embed);

if (options.tests) {
  run('typescript/bin/tsc', '--noEmit', '--project', 'test/tsconfig.json');
  const tests = readdirSync(join(here, 'test')).filter((name) => name.endsWith('.test.ts'));
  const all = join(options.out, 'tests.entry.ts');
  writeFileSync(
    all,
    tests.map((name) => `import ${JSON.stringify(join(here, 'test', name))};\n`).join(''),
  );
  await build({
    ...shared,
    entryPoints: { tests: all },
    outdir: options.out,
    platform: 'node',
    loader: { '.css': 'text' },
    format: 'esm',
    target: 'node18',
    outExtension: { '.js': '.mjs' },
  });
}
