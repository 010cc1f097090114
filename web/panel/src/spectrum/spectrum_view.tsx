// SPDX-License-Identifier: Apache-2.0
// The segment that counts over frequency, with one node in front.
import type { JSX } from 'preact';
import { route, toView } from '../browser/route';
import { activeSegment } from '../feed/show';
import { state } from '../feed/store';
import { band } from '../model/format';
import { byName, worstFirst } from '../model/condition';
import { useAct } from '../ui/act';
import { RefusalText } from '../ui/findings';
import { ChooseNode } from './choose_node';
import { purposes } from './paint_ground';
import { useSpectrum } from './use_spectrum';
import { Worktop } from './worktop';

export function SpectrumView(): JSX.Element {
  const told = useSpectrum();
  const acting = useAct();
  const nodes = [...state.value.nodes.values()].sort(byName);
  const asked = route.value.query.get('node') ?? '';
  const node =
    state.value.nodes.get(asked) ?? (asked === '' ? [...nodes].sort(worstFirst)[0] : undefined);
  const select = (name: string): void => {
    // What is being sent is finished first.
    if (!acting.busy) location.hash = toView('spectrum', { node: name });
  };
  const { answer } = told;
  return (
    <section class="spectrum-view" aria-label="Spectrum">
      <div class="tools">
        <h1>Spectrum</h1>
        <p class="summary">{activeSegment.value?.title ?? ''}</p>
        <span class="spring" />
        {nodes.length > 0 && (
          <ChooseNode
            nodes={nodes}
            chosen={node?.name ?? ''}
            disabled={acting.busy}
            onChoose={select}
          />
        )}
      </div>
      <RefusalText refusal={told.refusal} />
      {!answer && !told.refusal && <p class="none">The spectrum has not come yet.</p>}
      {answer && !node && (
        <p class="none">
          {asked ? `There is no node “${asked}” in this rack.` : 'There is no node in this rack.'}
        </p>
      )}
      {answer && node && <Worktop node={node} told={answer} acting={acting} onSelect={select} />}
      {answer && (
        <section class="part" aria-label="Lanes">
          <h2>Lanes</h2>
          <ul class="rows">
            {answer.spectrum.lanes.map((lane) => (
              <li key={lane.name}>
                <b>{lane.name}</b>
                <span class="steady">{band(lane.band_mhz)}</span>
                <span>
                  {purposes[lane.purpose]}
                  {lane.why ? `: ${lane.why}` : ''}
                </span>
              </li>
            ))}
          </ul>
          <p class="care">
            Transmit only where and how your licence allows, and keep people out of the near field
            of transmitting antennas. Band tables are information; the regulator and your licence
            decide.
          </p>
        </section>
      )}
    </section>
  );
}
