// SPDX-License-Identifier: Apache-2.0
// Level against stage, from the antenna to the receiver: the carrier between its weakest and
// strongest as a band, the noise below, all carriers together as a dotted line, and where a stage
// compresses.
import type { JSX } from 'preact';
import { useRef } from 'preact/hooks';
import type { ExplainedChain } from '../api/types';
import { pictureOf, type BudgetPoint } from '../model/budget';
import { megahertz, signedTenths, tenths } from '../model/format';
import { useWidth } from '../ui/use_width';
import { spread } from './spread';

const height = 250;
const left = 44;
const right = 118;
const above = 12;
const below = 46;

const level = (value: number | undefined): string => (value === undefined ? '–' : tenths(value));

function stageLabel(name: string): string {
  const plain = name.replace(/^(filter|receiver|combiner) /, '');
  return plain.length > 14 ? `${plain.slice(0, 13)}…` : plain;
}

export function BudgetPicture({ chain }: { chain: ExplainedChain }): JSX.Element {
  const place = useRef<HTMLDivElement>(null);
  const width = useWidth(place);
  const { points, top, bottom } = pictureOf(chain);
  const inner = Math.max(0, width - left - right);
  const x = (i: number): number =>
    left + (points.length < 2 ? 0 : (i / (points.length - 1)) * inner);
  const y = (dbm: number): number =>
    above + ((top - dbm) / (top - bottom)) * (height - above - below);
  const line = (of: (point: BudgetPoint) => number | undefined): string =>
    points
      .map((point, i) => [x(i), of(point)] as const)
      .filter((one): one is readonly [number, number] => one[1] !== undefined)
      .map(([at, dbm], i) => `${i ? 'L' : 'M'}${at.toFixed(1)} ${y(dbm).toFixed(1)}`)
      .join('');
  const reversed = (of: (point: BudgetPoint) => number | undefined): string =>
    [...points.keys()]
      .reverse()
      .filter((i) => of(points[i]!) !== undefined)
      .map((i) => `L${x(i).toFixed(1)} ${y(of(points[i]!)!).toFixed(1)}`)
      .join('');
  const strongest = line((point) => point.strongest);
  const weakest = reversed((point) => point.weakest);
  const noise = line((point) => point.noise);
  const last = points[points.length - 1];
  const ends = [
    { word: 'all', value: last?.all },
    { word: 'strongest', value: last?.strongest },
    { word: 'weakest', value: last?.weakest },
    { word: 'noise', value: last?.noise },
  ].filter((end): end is { word: string; value: number } => end.value !== undefined);
  const labels = spread(
    ends.map((end) => y(end.value)),
    15,
  );
  const grid: number[] = [];
  for (let dbm = bottom; dbm <= top; dbm += top - bottom > 100 ? 20 : 10) grid.push(dbm);
  const { budget } = chain;
  const summary =
    `${chain.carrier} at ${megahertz(chain.frequency_mhz)} MHz through ${chain.stages.map(({ name }) => name).join(', ')}. ` +
    `Chain gain ${tenths(budget.chain_gain_db)} dB, noise figure ${tenths(budget.noise_figure_db)} dB` +
    (budget.margin_db === undefined ? '.' : `, margin ${tenths(budget.margin_db)} dB.`);
  const narrow = inner / Math.max(1, points.length - 1) < 84;
  return (
    <div class="budget-picture" ref={place}>
      {width > 0 && (
        <svg
          width={width}
          height={height}
          viewBox={`0 0 ${width} ${height}`}
          role="img"
          aria-label={summary}
        >
          {grid.map((dbm) => (
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
          <path class="noise-area" d={`${noise}V${height - below}H${left}Z`} />
          {strongest && weakest && <path class="signal-area" d={`${strongest}${weakest}Z`} />}
          <path class="all" d={line((point) => point.all)} />
          <path class="signal" d={strongest} />
          <path class="signal" d={line((point) => point.weakest)} />
          <path class="noise" d={noise} />
          {points.map(
            (point, i) =>
              point.limit !== undefined && (
                <g key={i} class={(point.stage.margin_db ?? 1) < 0 ? 'limit over' : 'limit'}>
                  <path
                    d={`M${x(i) - 24} ${y(point.limit).toFixed(1)}h48M${x(i) - 24} ${y(point.limit).toFixed(1)}v-5m48 5v-5`}
                  />
                  <text x={x(i)} y={y(point.limit) + 15} text-anchor="middle">
                    P1dB {tenths(point.limit)}
                  </text>
                </g>
              ),
          )}
          {ends.map((end, i) => (
            <g key={end.word}>
              <path
                class="lead"
                d={`M${left + inner + 3} ${y(end.value).toFixed(1)}L${left + inner + 14} ${labels[i]!.toFixed(1)}`}
              />
              <text class="end" x={left + inner + 18} y={labels[i]! + 4}>
                {tenths(end.value)} {end.word}
              </text>
            </g>
          ))}
          {points.map((point, i) => (
            <g key={i} class="stage-name">
              <text
                x={x(i)}
                y={height - below + (narrow && i % 2 ? 32 : 16)}
                text-anchor={i === 0 ? 'start' : 'middle'}
              >
                {stageLabel(point.name)}
              </text>
              {i > 0 && !narrow && (
                <text class="quiet" x={x(i)} y={height - below + 32} text-anchor="middle">
                  {signedTenths(point.stage.gain_db)} dB
                </text>
              )}
            </g>
          ))}
        </svg>
      )}
    </div>
  );
}

export function BudgetTable({ chain }: { chain: ExplainedChain }): JSX.Element {
  return (
    <div class="scroll" tabIndex={0} role="region" aria-label="Level budget in numbers">
      <table class="numbers">
        <thead>
          <tr>
            <th scope="col">Behind</th>
            <th scope="col">gain, dB</th>
            <th scope="col">so far, dB</th>
            <th scope="col">noise figure so far, dB</th>
            <th scope="col">weakest, dBm</th>
            <th scope="col">strongest, dBm</th>
            <th scope="col">all carriers, dBm</th>
            <th scope="col">noise, dBm</th>
            <th scope="col">P1dB, dBm</th>
            <th scope="col">room, dB</th>
          </tr>
        </thead>
        <tbody>
          {chain.stages.map((stage, i) => (
            <tr key={i}>
              <th scope="row">{stage.name}</th>
              <td>{level(stage.gain_db)}</td>
              <td>{level(stage.gain_so_far_db)}</td>
              <td>{level(stage.noise_figure_so_far_db)}</td>
              <td>{level(stage.weakest_dbm)}</td>
              <td>{level(stage.strongest_dbm)}</td>
              <td>{level(stage.all_carriers_dbm)}</td>
              <td>{level(stage.noise_dbm)}</td>
              <td>{level(stage.output_p1db_dbm)}</td>
              <td>{level(stage.margin_db)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}
