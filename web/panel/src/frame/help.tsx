// SPDX-License-Identifier: Apache-2.0
import { signal } from '@preact/signals';
import type { JSX } from 'preact';
import { state } from '../feed/store';
import { Dialog } from '../ui/dialog';
import { offered } from './offered';

export const helpOpen = signal(false);

// Keys, and what they do.
type Keys = readonly (readonly [string, string])[];

const everywhere = (): Keys => [
  ...offered.value.map(({ title }, i) => [String(i + 1), `View ${title}`] as const),
  ['/', 'Search'],
  ['Esc', 'Leave a field; close the node beside the grid'],
  ['?', 'This help'],
];
const inOrder: Keys = [
  ['↑ ↓', 'Another cue'],
  ['a', 'Arm the cue'],
  ['d', 'Disarm'],
  ['g', 'Go: asks once more, Enter goes'],
  ['x', 'Abort the switch under way, at once'],
];
const inSpectrum: Keys = [
  ['← →', 'Move the picture; on a handle: one step of the window or the gain'],
  ['+ −', 'Look closer, or show more'],
  ['Home', 'All of the show; on a handle: its lowest'],
  ['Page ↑ ↓', 'On a handle: 1 MHz, or 3 dB'],
  ['Esc', 'Drop the edits'],
];
const inRoutes: Keys = [
  ['← → ↑ ↓', 'Another input, another output'],
  ['Home End', 'The antenna itself; the last output'],
  ['Space', 'Let the output hear the input, or not any more'],
  ['Enter', 'On an antenna: its label, trim and supply'],
  ['Esc', 'Drop the edits'],
];
const inFields: Keys = [
  ['↑ ↓', 'One step of a gain or a centre'],
  ['Enter', 'Send the change, if nothing is against it'],
];

const KeyList = ({ title, keys }: { title: string; keys: Keys }): JSX.Element => (
  <>
    <h3>{title}</h3>
    <dl class="keys">
      {keys.map(([key, does]) => (
        <div key={key}>
          <dt>
            <kbd>{key}</kbd>
          </dt>
          <dd>{does}</dd>
        </div>
      ))}
    </dl>
  </>
);

export const Help = (): JSX.Element => (
  <Dialog title="Keys, and care" open onClose={() => void (helpOpen.value = false)}>
    <KeyList title="Everywhere, but not while typing" keys={everywhere()} />
    <KeyList title="In Order" keys={inOrder} />
    <KeyList title="In Spectrum" keys={inSpectrum} />
    {state.value.matrices.size > 0 && <KeyList title="In Routes" keys={inRoutes} />}
    <KeyList title="In the fields of a node" keys={inFields} />
    <h3>Before you touch anything real</h3>
    <ul class="care-list">
      <li>
        Antennas and amplifiers hang over people. Every load needs its rated fixing and a second,
        independent one; rigging is for qualified riggers.
      </li>
      <li>
        Coax may carry DC for the amplifier. Know which cables do, and switch their supply off
        before you plug or unplug them; mains work is for licensed electricians.
      </li>
      <li>
        Transmit only where and how your licence allows, and keep people out of the near field of
        transmitting antennas.
      </li>
      <li>Local codes and licensed practice come before anything that this page says.</li>
    </ul>
    <p>
      What others have made of this page, and their licences: <a href="/licences.txt">notices</a>
    </p>
  </Dialog>
);
