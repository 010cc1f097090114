// SPDX-License-Identifier: Apache-2.0
// Files as string literals of a C++ source, plain and compressed.
import { createHash } from 'node:crypto';
import { writeFileSync } from 'node:fs';
import { extname } from 'node:path';
import { gzipSync } from 'node:zlib';

const types = {
  '': 'text/html; charset=utf-8',
  '.js': 'text/javascript; charset=utf-8',
  '.css': 'text/css; charset=utf-8',
  '.svg': 'image/svg+xml',
  '.txt': 'text/plain; charset=utf-8',
};

// All of the page, compressed: it has to come through a bad radio link between two cues.
const mostBytes = 200 * 1024;

// Octal escapes have three digits at most, so none swallows the character behind it.
function literal(bytes) {
  const lines = [];
  for (let at = 0; at < bytes.length; at += 64) {
    let line = '"';
    for (const byte of bytes.subarray(at, at + 64)) {
      const printable =
        byte >= 0x20 && byte < 0x7f && byte !== 0x22 && byte !== 0x5c && byte !== 0x3f;
      line += printable ? String.fromCharCode(byte) : `\\${byte.toString(8).padStart(3, '0')}`;
    }
    lines.push(`${line}"`);
  }
  return `std::string_view{${lines.join('\n')}, ${bytes.length}}`;
}

const digest = (content) => createHash('sha256').update(content).digest('hex').slice(0, 32);

export function writeEmbedded(files, to) {
  const compressed = files.map((file) => ({ ...file, gzip: gzipSync(file.content, { level: 9 }) }));
  const bytes = compressed.reduce((sum, file) => sum + file.gzip.length, 0);
  if (bytes > mostBytes)
    throw new Error(`the page has ${bytes} bytes compressed; at most ${mostBytes} are allowed`);
  if (!to) {
    for (const file of compressed)
      console.log(`${file.path} ${file.content.length} ${file.gzip.length}`);
    console.log(`${bytes} bytes compressed`);
    return;
  }
  const entries = compressed.map(
    ({ path, content, gzip }) =>
      `    {"${path}", "${types[extname(path)]}", "${digest(content)}",\n${literal(content)},\n${literal(gzip)}},\n`,
  );
  writeFileSync(
    to,
    `// Made by web/panel/build.mjs.
#include "web/server/http/embedded.hpp"

namespace catwalk::web::embedded {
namespace {

constexpr PageFile files[] = {
${entries.join('')}};

}  // namespace

const std::span<const PageFile> page{files};

}  // namespace catwalk::web::embedded
`,
  );
}
