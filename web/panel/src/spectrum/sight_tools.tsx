// SPDX-License-Identifier: Apache-2.0
// Above the picture: the window, what is in sight, and looking closer.
import type { JSX } from 'preact';
import { toAxis, toMhz } from '../model/axis';
import { band } from '../model/format';
import { zoomed } from './scale';
import type { InFront } from './use_front';
import type { InSight } from './use_in_sight';

interface Props {
  front: InFront;
  inSight: InSight;
}

// Where one looks closer, when all was in sight: at what the node hears. On the axis.
function interest({ front, inSight }: Props): number | null {
  const { shown, fates } = front;
  const [low, high] = shown?.window ?? [];
  if (low !== undefined && high !== undefined) return toAxis(inSight.axis, (low + high) / 2);
  const own = fates
    .filter((fate) => fate.own)
    .map(({ carrier }) => carrier.frequency_mhz)
    .sort((a, b) => a - b);
  const middle = own[Math.floor(own.length / 2)];
  return middle === undefined ? null : toAxis(inSight.axis, middle);
}

export function SightTools(props: Props): JSX.Element {
  const { axis, sight, full, all, show } = props.inSight;
  const { shown } = props.front;
  const middle = (sight[0] + sight[1]) / 2;
  const stretch = (factor: number, around: number): void =>
    show(zoomed(sight, full, factor, around));
  return (
    <div class="sight-tools">
      <p class="window steady">
        {shown?.window ? `Window ${band(shown.window)}` : 'No filter'}
      </p>
      <span class="spring" />
      <p class="quiet steady in-sight">
        {band(sight.map((place) => Number(toMhz(axis, place).toFixed(1))))} in sight
      </p>
      <div class="buttons">
        <button
          type="button"
          class="button"
          aria-label="Show more of the spectrum"
          disabled={all}
          onClick={() => stretch(1 / 1.5, middle)}
        >
          −
        </button>
        <button
          type="button"
          class="button"
          aria-label="Look closer"
          onClick={() => stretch(1.5, (all ? interest(props) : null) ?? middle)}
        >
          +
        </button>
        <button type="button" class="button" disabled={all} onClick={() => show(full)}>
          All
        </button>
      </div>
    </div>
  );
}
