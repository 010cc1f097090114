// SPDX-License-Identifier: Apache-2.0
// How much of a margin there is, and how much the limits of the rack want.
import type { ExplainedChain } from '../api/types';
import { signedTenths, tenths } from '../model/format';

type Margin = Pick<ExplainedChain['budget'], 'margin_db' | 'margin_wanted_db'>;

// Behind a margin's unit.
export const wantedWords = ({ margin_wanted_db }: Margin): string =>
  margin_wanted_db === undefined ? '' : `, wanted ${tenths(margin_wanted_db)} dB`;

export const marginWords = (budget: Margin | undefined): string =>
  budget?.margin_db === undefined
    ? 'not known'
    : `${signedTenths(budget.margin_db)} dB${wantedWords(budget)}`;
