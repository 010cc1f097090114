// SPDX-License-Identifier: Apache-2.0
// What can be asked of a matrix, by its paths in the API and by its acts there, which say the role.
import { ask } from '../api/client';
import type { MatrixAnswer, MatrixPatch } from '../api/matrix';
import type { Reasons } from '../ui/why_fields';

export const matrixPaths = {
  settings: '/matrices/{matrix}/settings',
  adopt: '/matrices/{matrix}/adopt',
  reapply: '/matrices/{matrix}/reapply',
  locate: '/matrices/{matrix}/locate',
  store: '/matrices/{matrix}/store',
  cycle: '/matrices/{matrix}/power-cycle',
} as const;

export const matrixActs = {
  set: `PATCH ${matrixPaths.settings}`,
  adopt: `POST ${matrixPaths.adopt}`,
  reapply: `POST ${matrixPaths.reapply}`,
  locate: `POST ${matrixPaths.locate}`,
  store: `POST ${matrixPaths.store}`,
  cycle: `POST ${matrixPaths.cycle}`,
} as const;

// What would be, if it were set so. Sends nothing to the unit.
export const judge = (
  name: string,
  patch: MatrixPatch,
  signal: AbortSignal,
): Promise<MatrixAnswer> =>
  ask<MatrixAnswer>('PATCH', matrixPaths.settings, { matrix: name }, patch, {
    query: { dry_run: true },
    headers: { 'Content-Type': 'application/merge-patch+json' },
    signal,
  });

// Takes the supply off an input for as long as the amplifier behind it asks, and gives it back.
export const cyclePower = (
  name: string,
  input: number,
  words: ReturnType<Reasons['sent']>,
): Promise<MatrixAnswer> =>
  ask<MatrixAnswer>('POST', matrixPaths.cycle, { matrix: name }, { input, ...words });
