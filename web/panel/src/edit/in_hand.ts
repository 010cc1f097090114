// SPDX-License-Identifier: Apache-2.0
// A node or a matrix with its draft, as the commit bar shows and sends it.
import { ask, get, patch, Refused } from '../api/client';
import type { MatrixAnswer, MatrixWanted } from '../api/matrix';
import type { Wanted } from '../api/types';
import type { HeardMatrix, HeardNode } from '../feed/state';
import { namesOf } from '../model/matrix';
import * as matrices from '../model/matrix_settings';
import * as nodes from '../model/settings';
import type { Difference } from '../model/settings';
import type { Reasons } from '../ui/why_fields';
import { discard, ofMatrices, rebase, type Draft, type MatrixDraft } from './drafts';
import type { Revised } from './kept_drafts';
import { matrixActs, matrixPaths } from './matrix_acts';
import { isTheirs } from './use_editing';

export interface InHand<W extends Revised = Revised> {
  name: string;
  noun: 'node' | 'matrix';
  // As in the API, for its role.
  act: string;
  // Another controller has it.
  theirs: boolean;
  wanted: W | undefined;
  // Of a change under way.
  stage: string | undefined;
  base: W;
  edits: readonly Difference[];
  // What of the settings that these edits began with is otherwise there.
  against: (theirs: W) => readonly Difference[];
  // Returns what is said to the person.
  send: (words: ReturnType<Reasons['sent']>) => Promise<string>;
  discard: () => void;
  rebase: (theirs: W) => void;
}

interface Put<W> {
  base: Revised;
  patch: object;
  words: ReturnType<Reasons['sent']>;
  send: (body: object, headers: Record<string, string>) => Promise<string>;
  latest: () => Promise<W>;
  discard: () => void;
  rebase: (latest: W) => void;
}

// The draft is gone when what it asks for has been read back.
async function put<W>(sent: Put<W>): Promise<string> {
  try {
    const said = await sent.send(
      { ...sent.patch, ...sent.words },
      {
        'If-Match': `"${sent.base.revision}"`,
        'Content-Type': 'application/merge-patch+json',
      },
    );
    sent.discard();
    return said;
  } catch (error) {
    // The wanted settings were put back, which is a new revision, but nobody else's.
    if (error instanceof Refused && ['failed', 'unreachable'].includes(error.problem.outcome ?? ''))
      sent.rebase(await sent.latest());
    throw error;
  }
}

const doneWords = (name: string, changed: readonly Difference[]): string =>
  `Done: ${name} has read back ${
    changed.map(({ title, after }) => `${title} ${after}`).join(', ') ||
    'the same settings as before'
  }.`;

export function nodeInHand(node: HeardNode, { base, settings }: Draft): InHand<Wanted> {
  const { name } = node;
  const path = '/nodes/{node}/settings';
  const own = {
    discard: () => discard(name),
    rebase: (theirs: Wanted) => rebase(name, theirs),
  };
  return {
    ...own,
    name,
    noun: 'node',
    act: `PATCH ${path}`,
    theirs: isTheirs(node),
    wanted: node.wanted,
    stage: node.change?.stage,
    base,
    edits: nodes.differences(base, settings),
    against: (theirs) => nodes.differences(base, theirs),
    send: (words) =>
      put({
        ...own,
        base,
        patch: nodes.patchOf(base, settings),
        words,
        latest: () => get(path, { node: name }),
        send: async (body, headers) => {
          const { node: after } = await patch(path, { node: name }, body, { headers });
          return doneWords(name, nodes.differences(base, after?.seen?.settings));
        },
      }),
  };
}

export function matrixInHand(
  matrix: HeardMatrix,
  { base, settings }: MatrixDraft,
): InHand<MatrixWanted> {
  const { name } = matrix;
  const names = namesOf(matrix);
  const own = {
    discard: () => ofMatrices.discard(name),
    rebase: (theirs: MatrixWanted) => ofMatrices.rebase(name, theirs),
  };
  return {
    ...own,
    name,
    noun: 'matrix',
    act: matrixActs.set,
    theirs: isTheirs(matrix),
    wanted: matrix.wanted,
    stage: matrix.change?.stage,
    base,
    edits: matrices.differences(base, settings, names),
    against: (theirs) => matrices.differences(base, theirs, names),
    send: (words) =>
      put({
        ...own,
        base,
        patch: matrices.patchOf(base, settings),
        words,
        latest: () => ask<MatrixWanted>('GET', matrixPaths.settings, { matrix: name }),
        send: async (body, headers) => {
          const { matrix: after } = await ask<MatrixAnswer>(
            'PATCH',
            matrixPaths.settings,
            { matrix: name },
            body,
            { headers },
          );
          return doneWords(name, matrices.differences(base, after?.seen?.settings, names));
        },
      }),
  };
}
