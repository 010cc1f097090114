// SPDX-License-Identifier: Apache-2.0
// node notices.mjs --page PACKAGES.json --version V --docs /usr/share/doc --out FOLDER
//
// What others have made that is in the programs and in the page: whose it is and under which licence, as
// NOTICES, as a source that every program is linked with (`--licences`), as the copyright file of a package,
// and as a bill of materials (SPDX 2.3). Libraries stand in components.json; the page's packages are what its
// bundler put into it. Versions and notices of libraries are those of the packages they are built from.
import { execFileSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';

const here = dirname(fileURLToPath(import.meta.url));
const { values: options } = parseArgs({
  options: {
    page: { type: 'string' },
    version: { type: 'string' },
    docs: { type: 'string', default: '/usr/share/doc' },
    out: { type: 'string' },
  },
});
for (const name of ['page', 'version', 'out'])
  if (!options[name]) throw new Error(`notices.mjs needs --${name}`);

// Of the Debian package that it is built from; nothing elsewhere.
function versionOf(debian) {
  try {
    const words = ['-W', '-f', '${Version}', debian];
    const whole = execFileSync('dpkg-query', words, { stdio: ['ignore', 'pipe', 'ignore'] });
    return whole.toString().replace(/^\d+:/, '').replace(/-[^-]*$/, '');
  } catch {
    return undefined;
  }
}

// No names here: a notice is kept with the library, and taken from there.
function textOf({ text, debian, system }) {
  if (system) return 'Part of the system that the program runs on, with notices of its own.\n';
  if (text) return readFileSync(join(here, 'licences', text), 'utf8');
  const file = join(options.docs, debian, 'copyright');
  return existsSync(file) ? readFileSync(file, 'utf8') : 'Its notices come with the library.\n';
}

const libraries = JSON.parse(readFileSync(join(here, 'components.json'), 'utf8')).components.map(
  (library) => {
    const linked = Object.values(library.libraries).flat();
    return {
      ...library,
      version: versionOf(library.debian),
      text: textOf(library),
      where: [...new Set([...library.headers_in, ...linked])].sort().join(', '),
      purl: `pkg:deb/debian/${library.debian.replaceAll('+', '%2B')}`,
      relation: linked.length > 0 ? 'DYNAMIC_LINK' : 'CONTAINS',
    };
  },
);
const packages = JSON.parse(readFileSync(options.page, 'utf8')).map((one) => ({
  ...one,
  where: 'the page, in catwalkd',
  purl: `pkg:npm/${one.name.replace('@', '%40')}`,
  relation: 'CONTAINS',
}));
const all = [...packages, ...libraries];

const rule = '-'.repeat(78);
const notices = `Catwalk ${options.version} is under the Apache License, version 2.0. In it, and linked with it:

${all.map(({ name, version, spdx, where }) => `  ${name}${version ? ` ${version}` : ''}: ${spdx} (${where})`).join('\n')}

${all.map(({ name, spdx, text }) => `${rule}\n${name}: ${spdx}\n${rule}\n\n${text.trimEnd()}\n`).join('\n')}`;

// Escapes have three digits, so none swallows the character behind it.
const literal = (text) =>
  text
    .split(/(?<=\n)/)
    .map((line) => {
      const bytes = [...Buffer.from(line)].map((byte) =>
        byte >= 0x20 && byte < 0x7f && !'"\\?'.includes(String.fromCharCode(byte))
          ? String.fromCharCode(byte)
          : `\\${byte.toString(8).padStart(3, '0')}`,
      );
      return `"${bytes.join('')}"`;
    })
    .join('\n');
const source = `// Made by config/package/notices.mjs.
#include "daemon/base/licences.hpp"

namespace catwalk {

std::string_view licences() {
  return ${literal(notices)};
}

}  // namespace catwalk
`;

// Copyright files of Debian, machine-readable: paragraphs, in which an empty line is a dot.
const field = (text) =>
  text
    .trimEnd()
    .split('\n')
    .map((line) => (line.trim() === '' ? ' .' : ` ${line}`))
    .join('\n');
const nameOf = ({ name }) => `MIT-of-${name.replaceAll(/[^a-z0-9]+/g, '-').replace(/^-/, '')}`;
const ownerOf = ({ text }) =>
  (text.match(/Copyright.*/) ?? ['its authors'])[0].replace(/^Copyright\s*(\(c\))?\s*/i, '');
const copyright = `Format: https://www.debian.org/doc/packaging-manuals/copyright-format/1.0/
Upstream-Name: Catwalk
Comment:
 What others have made, and their notices, stands in NOTICES.gz beside this file.

Files: *
Copyright: the authors of Catwalk
${packages.map((each) => ` ${ownerOf(each)}`).join('\n')}
License: ${['Apache-2.0', ...packages.map(nameOf)].join(' and ')}

License: Apache-2.0
${field(`On Debian systems the text of this licence is in /usr/share/common-licenses/Apache-2.0.`)}

${packages.map((each) => `License: ${nameOf(each)}\n${field(each.text)}\n`).join('\n')}`;

const epoch = process.env.SOURCE_DATE_EPOCH;
const created = epoch ? new Date(Number(epoch) * 1000) : new Date();
const idOf = ({ name }) => `SPDXRef-${name.replaceAll(/[^A-Za-z0-9.]+/g, '-').replace(/^-|-$/g, '')}`;
const root = 'SPDXRef-Catwalk';
const bill = {
  spdxVersion: 'SPDX-2.3',
  dataLicense: 'CC0-1.0',
  SPDXID: 'SPDXRef-DOCUMENT',
  name: `catwalk-${options.version}`,
  documentNamespace: `urn:catwalk:spdx:${createHash('sha256').update(notices).digest('hex')}`,
  creationInfo: {
    created: created.toISOString().replace(/\.\d+Z$/, 'Z'),
    creators: ['Tool: catwalk-notices'],
  },
  packages: [
    {
      name: 'catwalk',
      SPDXID: root,
      versionInfo: options.version,
      downloadLocation: 'NOASSERTION',
      filesAnalyzed: false,
      licenseConcluded: 'Apache-2.0',
      licenseDeclared: 'Apache-2.0',
      copyrightText: 'NOASSERTION',
      primaryPackagePurpose: 'APPLICATION',
    },
    ...all.map((one) => ({
      name: one.name,
      SPDXID: idOf(one),
      versionInfo: one.version ?? 'NOASSERTION',
      downloadLocation: 'NOASSERTION',
      filesAnalyzed: false,
      licenseConcluded: 'NOASSERTION',
      licenseDeclared: one.spdx,
      copyrightText: 'NOASSERTION',
      primaryPackagePurpose: 'LIBRARY',
      comment: `In ${one.where}.`,
      externalRefs: [
        {
          referenceCategory: 'PACKAGE-MANAGER',
          referenceType: 'purl',
          referenceLocator: one.version ? `${one.purl}@${one.version}` : one.purl,
        },
      ],
    })),
  ],
  relationships: [
    {
      spdxElementId: 'SPDXRef-DOCUMENT',
      relationshipType: 'DESCRIBES',
      relatedSpdxElement: root,
    },
    ...all.map((one) => ({
      spdxElementId: root,
      relationshipType: one.relation,
      relatedSpdxElement: idOf(one),
    })),
  ],
};

mkdirSync(options.out, { recursive: true });
writeFileSync(join(options.out, 'NOTICES'), notices);
writeFileSync(join(options.out, 'copyright'), copyright);
writeFileSync(join(options.out, 'catwalk.spdx.json'), `${JSON.stringify(bill, null, 2)}\n`);
writeFileSync(join(options.out, 'licences.cpp'), source);
