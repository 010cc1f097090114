// SPDX-License-Identifier: Apache-2.0
// The unit itself: its label, what it is, and what else can be asked of it.
import type { JSX } from 'preact';
import type { MatrixSheet } from '../api/matrix';
import { ActsRow } from '../edit/acts_row';
import { matrixSubject } from '../edit/subject';
import { duration } from '../model/format';
import { LabelField } from './input_part';
import type { MatrixEditing } from './use_matrix';

function isolationOf(sheet: MatrixSheet): string {
  return [
    ['inputs', sheet.isolation_of_inputs_db] as const,
    ['outputs', sheet.isolation_of_outputs_db] as const,
  ]
    .filter(([, db]) => db !== undefined)
    .map(([sockets, db]) => `${db} dB between ${sockets}`)
    .join(', ');
}

function rowsOf({ matrix }: MatrixEditing): [string, string][] {
  const { datasheet, seen } = matrix;
  const { most_summed, most_ma_of_all, applies } = datasheet;
  const rows: [string, string][] = [
    ['Type', `${matrix.type}, ${datasheet.title}`],
    ['Stands', matrix.stands],
    [
      'An output takes',
      most_summed === 1 ? 'one input' : `the sum of ${most_summed} inputs at most`,
    ],
    ['New routes', applies === 'at once' ? 'all in one instant' : 'each in its own time'],
  ];
  const isolation = isolationOf(datasheet);
  if (isolation) rows.push(['Isolation', isolation]);
  const fed = matrix.inputs.map(({ measured }) => measured?.current_ma ?? 0);
  if (datasheet.measures_current && seen)
    rows.push(['Feeds now', `${fed.reduce((sum, ma) => sum + ma, 0)} mA together`]);
  if (most_ma_of_all !== undefined) rows.push(['Feeds at most', `${most_ma_of_all} mA together`]);
  if (matrix.uid) rows.push(['Unique id', matrix.uid]);
  if (matrix.line) rows.push(['Line', matrix.line]);
  if (matrix.firmware) rows.push(['Firmware', matrix.firmware]);
  if (matrix.on_return)
    rows.push([
      'When it comes back',
      matrix.on_return === 'reapply'
        ? 'it is told again what is wanted'
        : 'it is left as it is',
    ]);
  if (seen)
    rows.push(
      [
        'Own supply',
        seen.telemetry.powered
          ? `${seen.telemetry.supply_v.toFixed(1)} V, ${seen.telemetry.supply_ma} mA`
          : 'none',
      ],
      ['Temperature', `${seen.telemetry.temperature_c.toFixed(0)} °C`],
      ['Running for', duration(seen.telemetry.uptime_s * 1000)],
      ['Starts', String(seen.telemetry.boots)],
    );
  return rows;
}

export function UnitPart({ editing }: { editing: MatrixEditing }): JSX.Element {
  const { matrix, settings, change } = editing;
  return (
    <section class="part" aria-label="About this unit">
      <h2>The unit</h2>
      {matrix.set_from_here && <ActsRow of={matrixSubject(matrix)} />}
      {settings && matrix.set_from_here && (
        <LabelField
          editing={editing}
          title="Label on the unit"
          pointer="/label"
          value={settings.label}
          onInput={(label) => change({ label })}
        />
      )}
      <dl class="about">
        {rowsOf(editing).map(([name, value]) => (
          <div key={name}>
            <dt>{name}</dt>
            <dd>{value}</dd>
          </div>
        ))}
      </dl>
    </section>
  );
}
