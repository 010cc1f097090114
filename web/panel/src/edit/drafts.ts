// SPDX-License-Identifier: Apache-2.0
// The edits of nodes, and those of matrices.
import type { MatrixSettings } from '../api/matrix';
import type { Settings } from '../api/types';
import * as matrix from '../model/matrix_settings';
import * as node from '../model/settings';
import { draftStore } from './draft_store';
import type * as kept from './kept_drafts';

export type Draft = kept.Draft<Settings>;
export type MatrixDraft = kept.Draft<MatrixSettings>;

export const ofNodes = draftStore<Settings>('drafts', node, ({ nodes }) => nodes);
export const { drafts, edit, discard, rebase } = ofNodes;

export const ofMatrices = draftStore<MatrixSettings>(
  'matrix-drafts',
  matrix,
  ({ matrices }) => matrices,
);
