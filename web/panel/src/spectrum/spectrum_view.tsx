// SPDX-License-Identifier: Apache-2.0
// Lanes and carriers of the segment that counts.
import type { JSX } from 'preact';
import { activeSegment, segmentsMissing } from '../feed/show';
import { band, list, megahertz } from '../model/format';

const purposes = { receive: 'to receive', transmit: 'to transmit', closed: 'closed' } as const;

export function SpectrumView(): JSX.Element {
  const segment = activeSegment.value;
  return (
    <section class="spectrum-view" aria-label="Spectrum">
      <div class="tools">
        <h1>Spectrum</h1>
        <p class="summary">{segment ? segment.title : ''}</p>
      </div>
      {!segment && (
        <p class="none">{segmentsMissing.value || 'The segments of the show have not come yet.'}</p>
      )}
      {segment && (
        <>
          <p class="care">
            Transmit only where and how your licence allows, and keep people out of the near field
            of transmitting antennas. Band tables are information; the regulator and your licence
            decide.
          </p>
          <h2>Lanes</h2>
          <ul class="rows">
            {segment.lanes.map((lane) => (
              <li key={lane.name}>
                <b>{lane.name}</b>
                <span>{band(lane.band_mhz)}</span>
                <span>
                  {purposes[lane.purpose]}
                  {lane.why ? `: ${lane.why}` : ''}
                </span>
              </li>
            ))}
          </ul>
          <h2>Carriers</h2>
          <ul class="rows">
            {[...segment.carriers]
              .sort((a, b) => a.frequency_mhz - b.frequency_mhz)
              .map((carrier) => (
                <li key={carrier.name}>
                  <b>{carrier.name}</b>
                  <span>
                    {megahertz(carrier.frequency_mhz)} MHz, {carrier.bandwidth_khz} kHz
                  </span>
                  <span>
                    {carrier.use === 'receive' ? `to ${list(carrier.receivers)}` : 'transmits'}
                  </span>
                </li>
              ))}
          </ul>
        </>
      )}
    </section>
  );
}
