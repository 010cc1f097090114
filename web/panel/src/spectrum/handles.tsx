// SPDX-License-Identifier: Apache-2.0
// The two handles of the node in front: its window, and its gain.
import type { JSX } from 'preact';
import type { Settings, Steps } from '../api/types';
import { decibels, megahertz } from '../model/format';
import { narrow } from './boxes';
import { Handle } from './handle';
import type { Box } from './labels';
import { dbPerPixel, mhzPerPixel, type Frame } from './scale';

interface Props {
  node: string;
  frame: Frame;
  box: Box;
  steps: Steps;
  disabled: boolean;
  onEdit: (changed: Partial<Settings>) => void;
  onHold: (held: boolean) => void;
  onDrop: () => void;
}

export function WindowHandle(props: Props & { centre: number }): JSX.Element {
  const { centre, node, frame, onEdit, ...handle } = props;
  return (
    <Handle
      {...handle}
      upright={false}
      label={`Window of ${node}: centre`}
      value={centre}
      says={`${megahertz(centre)} MHz`}
      large={1}
      perPixel={mhzPerPixel(frame)}
      onMove={(centre_mhz) => onEdit({ centre_mhz })}
    >
      <i aria-hidden="true">◂</i>
      {handle.box.width >= frame.px * 7.5 && (
        <b>
          {megahertz(centre)}
          {handle.box.width >= frame.px * 11 ? ' MHz' : ''}
        </b>
      )}
      <i aria-hidden="true">▸</i>
    </Handle>
  );
}

export function GainHandle(props: Props & { gain: number }): JSX.Element {
  const { gain, node, frame, onEdit, ...handle } = props;
  return (
    <Handle
      {...handle}
      upright
      label={`Gain of ${node}`}
      value={gain}
      says={`${decibels(gain)} dB`}
      large={Math.max(3, handle.steps.step)}
      perPixel={dbPerPixel(frame)}
      onMove={(gain_db) => onEdit({ gain_db })}
    >
      {!narrow(frame) && <i aria-hidden="true">▴▾</i>}
      <b>{decibels(gain)} dB</b>
    </Handle>
  );
}
