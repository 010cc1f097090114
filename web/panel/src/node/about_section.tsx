// SPDX-License-Identifier: Apache-2.0
import type { JSX } from 'preact';
import type { HeardNode } from '../feed/state';
import { decibels, duration } from '../model/format';

export function AboutSection({ node }: { node: HeardNode }): JSX.Element {
  const telemetry = node.seen?.telemetry;
  const rows: [string, string][] = [
    ['Type', node.type],
    ['Unique id', node.uid],
    ['Line', node.line],
    ['Firmware', node.firmware ?? 'not known'],
    [
      'When it comes back',
      node.on_return === 'reapply' ? 'it is told again what is wanted' : 'it is left as it is',
    ],
  ];
  if (node.gain_limits_db)
    rows.push(['Limits of the rack', `${node.gain_limits_db.map(decibels).join(' to ')} dB`]);
  if (telemetry)
    rows.push(
      [
        'Supply',
        telemetry.powered
          ? `${telemetry.supply_v.toFixed(1)} V, ${telemetry.supply_ma} mA`
          : 'none',
      ],
      ['Temperature', `${telemetry.temperature_c.toFixed(0)} °C`],
      ['Detector', `${decibels(telemetry.detector_dbm)} dBm at the amplifier's input`],
      ['Running for', duration(telemetry.uptime_s * 1000)],
      ['Starts', String(telemetry.boots)],
    );
  return (
    <section class="part" aria-label="About this node">
      <h2>About</h2>
      <dl class="about">
        {rows.map(([name, value]) => (
          <div key={name}>
            <dt>{name}</dt>
            <dd>{value}</dd>
          </div>
        ))}
      </dl>
      <p class="care">
        It hangs over people. Every load needs its rated fixing and a second, independent one;
        taking it down or moving it is for qualified riggers, under the local code.
      </p>
    </section>
  );
}
