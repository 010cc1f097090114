// SPDX-License-Identifier: Apache-2.0
// A node or a matrix that somebody tells to do something, and how the daemon is asked for it.
import { ask, post } from '../api/client';
import type { Agreement } from '../model/condition';
import type { Reasons } from '../ui/why_fields';
import type { HeardMatrix, HeardNode } from '../feed/state';
import { namesOf } from '../model/matrix';
import * as matrices from '../model/matrix_settings';
import { differences, type Difference } from '../model/settings';
import { matrixActs, matrixPaths } from './matrix_acts';

export type Decision = 'adopt' | 'reapply';

export interface Subject {
  name: string;
  agreement: Agreement | undefined;
  blinks: boolean;
  // Absent: nothing was ever wanted of it.
  revision: number | undefined;
  // Wanted beside seen, where both are known.
  apart: readonly Difference[] | null;
  // As in the API, for their roles.
  acts: Record<Decision | 'locate' | 'store', string>;
  decide: (
    decision: Decision,
    words: ReturnType<Reasons['sent']>,
    headers: Record<string, string>,
  ) => Promise<unknown>;
  locate: (seconds: number) => Promise<unknown>;
  store: () => Promise<unknown>;
}

export function nodeSubject({ name, agreement, wanted, seen }: HeardNode): Subject {
  const names = { node: name };
  return {
    name,
    agreement,
    blinks: seen?.telemetry.locating === true,
    revision: wanted?.revision,
    apart: wanted && seen ? differences(wanted, seen.settings) : null,
    acts: {
      adopt: 'POST /nodes/{node}/adopt',
      reapply: 'POST /nodes/{node}/reapply',
      locate: 'POST /nodes/{node}/locate',
      store: 'POST /nodes/{node}/store',
    },
    decide: (decision, words, headers) =>
      post(`/nodes/{node}/${decision}`, names, words, { headers }),
    locate: (seconds) => post('/nodes/{node}/locate', names, { seconds }),
    store: () => post('/nodes/{node}/store', names, {}),
  };
}

export function matrixSubject(matrix: HeardMatrix): Subject {
  const { name, agreement, wanted, seen } = matrix;
  const names = { matrix: name };
  return {
    name,
    agreement,
    blinks: seen?.telemetry.locating === true,
    revision: wanted?.revision,
    apart: wanted && seen ? matrices.differences(wanted, seen.settings, namesOf(matrix)) : null,
    acts: matrixActs,
    decide: (decision, words, headers) =>
      ask('POST', matrixPaths[decision], names, words, { headers }),
    locate: (seconds) => ask('POST', matrixPaths.locate, names, { seconds }),
    store: () => ask('POST', matrixPaths.store, names, {}),
  };
}
