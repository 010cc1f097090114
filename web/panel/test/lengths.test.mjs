// SPDX-License-Identifier: Apache-2.0
// A function fits a screen, and a file can be read in one go.
import assert from 'node:assert/strict';
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { test } from 'node:test';
import { fileURLToPath } from 'node:url';
import ts from 'typescript';

const longestFunction = 60;
const longestFile = 400;
const from = fileURLToPath(new URL('../src', import.meta.url));

const linesOf = (text) => text.replace(/\n$/, '').split('\n').length;

// From its first line to its closing brace; one without a name is told by what it belongs to.
function functionsIn(path, text) {
  const source = ts.createSourceFile(path, text, ts.ScriptTarget.Latest, true);
  const found = [];
  const visit = (node) => {
    if (ts.isFunctionLike(node) && node.body) {
      const name = (node.name ?? node.parent.name)?.getText(source) ?? 'a function without a name';
      found.push({ name, lines: linesOf(node.getText(source)) });
    }
    ts.forEachChild(node, visit);
  };
  visit(source);
  return found;
}

function tooLong(path, text) {
  const functions = /\.tsx?$/.test(path) ? functionsIn(path, text) : [];
  return [
    ...(linesOf(text) > longestFile ? [`${path} has ${linesOf(text)} lines`] : []),
    ...functions
      .filter(({ lines }) => lines > longestFunction)
      .map(({ name, lines }) => `${path}: ${name} has ${lines} lines`),
  ];
}

test('a function or a file that is too long is found and named', () => {
  const filled = (lines) => '  act();\n'.repeat(lines);
  assert.deepEqual(tooLong('a.ts', `function fits() {\n${filled(58)}}\n`), []);
  assert.deepEqual(tooLong('a.ts', `function grown() {\n${filled(59)}}\n`), [
    'a.ts: grown has 61 lines',
  ]);
  assert.deepEqual(tooLong('a.tsx', `const View = () => {\n${filled(70)}};\n`), [
    'a.tsx: View has 72 lines',
  ]);
  assert.deepEqual(tooLong('a.ts', `listen(() => {\n${filled(60)}});\n`), [
    'a.ts: a function without a name has 62 lines',
  ]);
  assert.deepEqual(tooLong('a.css', '.a {}\n'.repeat(400)), []);
  assert.deepEqual(tooLong('a.css', '.a {}\n'.repeat(401)), ['a.css has 401 lines']);
});

test('no function of the page is longer than that, and no file', () => {
  const files = readdirSync(from, { recursive: true })
    .map((path) => String(path).replaceAll('\\', '/'))
    .filter((path) => /\.(tsx?|css)$/.test(path) && !path.startsWith('generated/'));
  assert.ok(files.length > 80, `only ${files.length} files in ${from}`);
  const long = files.flatMap((path) => tooLong(path, readFileSync(join(from, path), 'utf8')));
  assert.deepEqual(long, []);
});
