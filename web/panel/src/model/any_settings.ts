// SPDX-License-Identifier: Apache-2.0
// Settings of a node of either kind, said in words.
import type { MatrixSettings } from '../api/matrix';
import type { Settings } from '../api/types';
import { differences as ofMatrix } from './matrix_settings';
import { differences as ofNode, inWords } from './settings';

export type AnySettings = Settings | MatrixSettings;

const isMatrix = (settings: AnySettings | undefined): settings is MatrixSettings =>
  settings !== undefined && 'routes' in settings;

export function differencesInWords(
  before: AnySettings | undefined,
  after: AnySettings | undefined,
): string {
  if (isMatrix(before) || isMatrix(after))
    return inWords(
      ofMatrix(isMatrix(before) ? before : undefined, isMatrix(after) ? after : undefined),
    );
  return inWords(ofNode(before, after));
}
