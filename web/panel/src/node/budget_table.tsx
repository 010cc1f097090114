// SPDX-License-Identifier: Apache-2.0
// The level budget in numbers, a row for each stage.
import type { JSX } from 'preact';
import type { ExplainedChain, Stage } from '../api/types';
import { tenths } from '../model/format';
import { WideTable } from '../ui/table';

const columns: readonly [string, Exclude<keyof Stage, 'name' | 'label'>][] = [
  ['gain, dB', 'gain_db'],
  ['so far, dB', 'gain_so_far_db'],
  ['noise figure so far, dB', 'noise_figure_so_far_db'],
  ['weakest, dBm', 'weakest_dbm'],
  ['strongest, dBm', 'strongest_dbm'],
  ['all carriers, dBm', 'all_carriers_dbm'],
  ['noise, dBm', 'noise_dbm'],
  ['P1dB, dBm', 'output_p1db_dbm'],
  ['room, dB', 'margin_db'],
];

const level = (value: number | undefined): string => (value === undefined ? '–' : tenths(value));

export const BudgetTable = ({ chain }: { chain: ExplainedChain }): JSX.Element => (
  <WideTable
    label="Level budget in numbers"
    class="numbers"
    columns={[
      'Behind',
      ...columns.map(([title, member]) =>
        member === 'noise_dbm' ? `noise in ${chain.bandwidth_khz} kHz, dBm` : title,
      ),
    ]}
  >
    {chain.stages.map((stage, i) => (
      <tr key={i}>
        <th scope="row">{stage.name}</th>
        {columns.map(([title, member]) => (
          <td key={title}>{level(stage[member])}</td>
        ))}
      </tr>
    ))}
  </WideTable>
);
