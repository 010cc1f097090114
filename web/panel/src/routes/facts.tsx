// SPDX-License-Identifier: Apache-2.0
// What an input feeds and measures, and how it is trimmed: as seen, and beside it what is wanted or
// edited where that is otherwise.
import type { JSX } from 'preact';
import type { MatrixInput, MatrixSettings } from '../api/matrix';
import { decibels, tenths } from '../model/format';
import { volts, type Stand } from '../model/matrix';
import { Tag } from '../ui/shape';

type Say = (settings: MatrixSettings | undefined) => string | undefined;

interface FactProps {
  stand: Stand;
  say: Say;
  // In front of it.
  name?: string;
}

function Fact({ stand, say, name = '' }: FactProps): JSX.Element | null {
  const { seen, wanted, draft, moving } = stand;
  const is = say(seen ?? wanted);
  const should = say(wanted);
  const edited = draft && say(draft.settings) !== say(draft.base) ? say(draft.settings) : undefined;
  const nothing = [is, edited, should].every((said) => !said);
  if (is === undefined || nothing) return null;
  return (
    <span class={name ? 'fact quiet' : 'fact'}>
      {name}
      {edited === undefined ? (
        is
      ) : (
        <>
          {is && <s>{is}</s>} → <b>{edited || 'none'}</b>
        </>
      )}
      {edited === undefined && !moving && should !== undefined && should !== is && (
        <span class="wanted"> wanted {should || 'none'}</span>
      )}
    </span>
  );
}

interface Props {
  input: MatrixInput;
  stand: Stand;
}

export const supplySaid =
  (input: number): Say =>
  (settings) => {
    const mv = settings?.supplies_mv?.[input];
    return mv === undefined ? undefined : volts(mv);
  };
const trimSaid =
  (input: number): Say =>
  (settings) => {
    const trim = settings?.trims_db?.[input];
    return trim === undefined ? undefined : `${decibels(trim)} dB`;
  };
const labelSaid =
  (input: number): Say =>
  (settings) =>
    settings && (settings.labels[input] ? `“${settings.labels[input]}”` : '');

export const LabelFact = ({ input: { input }, stand }: Props): JSX.Element => (
  <Fact stand={stand} say={labelSaid(input)} />
);

export function SupplyFact({ input: { input, measured }, stand }: Props): JSX.Element {
  const { current_ma, limited } = measured ?? {};
  return (
    <>
      <Fact stand={stand} say={supplySaid(input)} />
      {current_ma !== undefined && <span class="fact">{current_ma} mA</span>}
      {limited && <Tag level="fault" word="limited" />}
    </>
  );
}

export function LevelFact({ input: { input, measured }, stand }: Props): JSX.Element {
  const level = measured?.level_dbm;
  return (
    <>
      {level !== undefined && <span class="fact">{tenths(level)} dBm</span>}
      <Fact stand={stand} say={trimSaid(input)} name="trim " />
    </>
  );
}
