// SPDX-License-Identifier: Apache-2.0
// Level against stage, from the antenna to the receiver: the carrier between its weakest and
// strongest as a band, the noise below, all carriers together as a dotted line, and where a stage
// compresses.
import type { JSX } from 'preact';
import { useRef } from 'preact/hooks';
import type { ExplainedChain } from '../api/types';
import { pictureOf, type BudgetPicture as Levels, type BudgetPoint } from '../model/budget';
import { megahertz, signedTenths, tenths } from '../model/format';
import { useWidth } from '../ui/use_width';
import { marginWords } from './margin';
import { spread } from './spread';

const height = 250;
const left = 44;
const right = 118;
const above = 12;
const below = 46;

// Where things stand in the picture, px.
interface Drawn extends Levels {
  inner: number;
  x: (i: number) => number;
  y: (dbm: number) => number;
}

function drawn(levels: Levels, width: number): Drawn {
  const { points, top, bottom } = levels;
  const inner = Math.max(0, width - left - right);
  return {
    ...levels,
    inner,
    x: (i) => left + (points.length < 2 ? 0 : (i / (points.length - 1)) * inner),
    y: (dbm) => above + ((top - dbm) / (top - bottom)) * (height - above - below),
  };
}

const longest = 14; // letters
const shortened = (label: string): string =>
  label.length > longest ? `${label.slice(0, longest - 1)}…` : label;

function Grid({ points, top, bottom, inner, x, y }: Drawn): JSX.Element {
  const step = top - bottom > 100 ? 20 : 10;
  const levels: number[] = [];
  for (let dbm = bottom; dbm <= top; dbm += step) levels.push(dbm);
  return (
    <>
      {levels.map((dbm) => (
        <g key={dbm}>
          <path class="rule" d={`M${left} ${y(dbm).toFixed(1)}H${left + inner}`} />
          <text class="tick" x={left - 6} y={y(dbm) + 4} text-anchor="end">
            {tenths(dbm).replace('.0', '')}
          </text>
        </g>
      ))}
      {points.map((_, i) => (
        <path key={i} class="rule" d={`M${x(i).toFixed(1)} ${above}V${height - below}`} />
      ))}
    </>
  );
}

function Curves({ points, x, y }: Drawn): JSX.Element {
  const places = (of: (point: BudgetPoint) => number | undefined): string[] =>
    points.flatMap((point, i) => {
      const dbm = of(point);
      return dbm === undefined ? [] : [`${x(i).toFixed(1)} ${y(dbm).toFixed(1)}`];
    });
  const line = (along: readonly string[]): string => (along.length ? `M${along.join('L')}` : '');
  const strongest = places((point) => point.strongest);
  const weakest = places((point) => point.weakest);
  const noise = line(places((point) => point.noise));
  return (
    <>
      <path class="noise-area" d={`${noise}V${height - below}H${left}Z`} />
      {strongest.length > 0 && weakest.length > 0 && (
        <path class="signal-area" d={`${line([...strongest, ...[...weakest].reverse()])}Z`} />
      )}
      <path class="all" d={line(places((point) => point.all))} />
      <path class="signal" d={line(strongest)} />
      <path class="signal" d={line(weakest)} />
      <path class="noise" d={noise} />
    </>
  );
}

const Limits = ({ points, x, y }: Drawn): JSX.Element => (
  <>
    {points.map(
      ({ limit, stage }, i) =>
        limit !== undefined && (
          <g key={i} class={(stage.margin_db ?? 1) < 0 ? 'limit over' : 'limit'}>
            <path
              d={`M${x(i) - 24} ${y(limit).toFixed(1)}h48M${x(i) - 24} ${y(limit).toFixed(1)}v-5m48 5v-5`}
            />
            <text x={x(i)} y={y(limit) + 15} text-anchor="middle">
              P1dB {tenths(limit)}
            </text>
          </g>
        ),
    )}
  </>
);

// What each line ends at, beside its end.
function Ends({ points, inner, y }: Drawn): JSX.Element {
  const last = points[points.length - 1];
  const ends = [
    { word: 'all', value: last?.all },
    { word: 'strongest', value: last?.strongest },
    { word: 'weakest', value: last?.weakest },
    { word: 'noise', value: last?.noise },
  ].filter((end): end is { word: string; value: number } => end.value !== undefined);
  const labels = spread(
    ends.map(({ value }) => y(value)),
    15,
  );
  return (
    <>
      {ends.map(({ word, value }, i) => (
        <g key={word}>
          <path
            class="lead"
            d={`M${left + inner + 3} ${y(value).toFixed(1)}L${left + inner + 14} ${labels[i]!.toFixed(1)}`}
          />
          <text class="end" x={left + inner + 18} y={labels[i]! + 4}>
            {tenths(value)} {word}
          </text>
        </g>
      ))}
    </>
  );
}

function Stages({ points, inner, x }: Drawn): JSX.Element {
  const narrow = inner / Math.max(1, points.length - 1) < 84;
  const foot = height - below;
  return (
    <>
      {points.map(({ stage }, i) => (
        <g key={i} class="stage-name">
          <text
            x={x(i)}
            y={foot + (narrow && i % 2 ? 32 : 16)}
            text-anchor={i === 0 ? 'start' : 'middle'}
          >
            {shortened(stage.label)}
          </text>
          {i > 0 && !narrow && (
            <text class="quiet" x={x(i)} y={foot + 32} text-anchor="middle">
              {signedTenths(stage.gain_db)} dB
            </text>
          )}
        </g>
      ))}
    </>
  );
}

function summary({ carrier, frequency_mhz, stages, budget }: ExplainedChain): string {
  const margin = budget.margin_db === undefined ? '' : `, margin ${marginWords(budget)}`;
  return (
    `${carrier} at ${megahertz(frequency_mhz)} MHz through ${stages.map(({ name }) => name).join(', ')}. ` +
    `Chain gain ${tenths(budget.chain_gain_db)} dB, noise figure ${tenths(budget.noise_figure_db)} dB${margin}.`
  );
}

export function BudgetPicture({ chain }: { chain: ExplainedChain }): JSX.Element {
  const place = useRef<HTMLDivElement>(null);
  const width = useWidth(place);
  const picture = drawn(pictureOf(chain), width);
  return (
    <div class="budget-picture" ref={place}>
      {width > 0 && (
        <svg
          width={width}
          height={height}
          viewBox={`0 0 ${width} ${height}`}
          role="img"
          aria-label={summary(chain)}
        >
          <Grid {...picture} />
          <Curves {...picture} />
          <Limits {...picture} />
          <Ends {...picture} />
          <Stages {...picture} />
        </svg>
      )}
    </div>
  );
}
