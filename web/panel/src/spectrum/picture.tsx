// SPDX-License-Identifier: Apache-2.0
// The spectrum as a picture on two canvases: what stays, and the selected node in front of it, so
// that drawing a window along paints only the latter. Its handles lie over both.
import { useSignal } from '@preact/signals';
import type { JSX, RefObject } from 'preact';
import { useId, useLayoutEffect, useMemo, useRef } from 'preact/hooks';
import type { Allowed, Settings, Spectrum } from '../api/types';
import { dbmAtZero, gainBox, windowBox } from './boxes';
import { GainHandle, WindowHandle } from './handles';
import { hit, type Candidate } from './hit';
import type { Box } from './labels';
import { dbPerPixel, frameOf, gains, mhzOf, mhzPerPixel, type Frame } from './scale';
import type { InFront } from './use_front';
import type { InSight } from './use_in_sight';
import { usePainting } from './use_painting';
import { useSight } from './use_sight';

const howTo =
  'All of it stands in the table below. Arrow keys move the picture, plus and minus stretch it, ' +
  'Home shows all.';

interface Props {
  spectrum: Spectrum;
  front: InFront;
  inSight: InSight;
  // Null: they cannot be moved.
  settings: Settings | null;
  allowed: Allowed | null;
  disabled: boolean;
  // What it shows.
  words: string;
  onSelect: (node: string) => void;
  onEdit: (changed: Partial<Settings>) => void;
  onHold: (held: boolean) => void;
  onDrop: () => void;
}

// As large as its place; null: there is no room.
function useFrame(
  place: RefObject<HTMLElement>,
  spectrum: Spectrum,
  { axis, sight }: InSight,
): Frame | null {
  const size = useSignal({ width: 0, height: 0, em: 1 });
  useLayoutEffect(() => {
    if (!place.current) return;
    const observer = new ResizeObserver(([entry]) => {
      if (!entry) return;
      const { width, height } = entry.contentRect;
      size.value = {
        width: Math.floor(width),
        height: Math.floor(height),
        em: parseFloat(getComputedStyle(document.documentElement).fontSize) / 16,
      };
    });
    observer.observe(place.current);
    return () => observer.disconnect();
  }, []);
  const { width, height, em } = size.value;
  return useMemo(
    () =>
      width > 150 && height > 150
        ? frameOf(width, height, em, axis, sight, dbmAtZero(spectrum))
        : null,
    [width, height, em, axis, sight, spectrum],
  );
}

function tapped(
  frame: Frame,
  curves: readonly Candidate[],
  node: string,
  x: number,
  y: number,
): string | null {
  const db = gains[1] - (y - frame.top) * dbPerPixel(frame);
  return hit(curves, node, mhzOf(frame, x), db, mhzPerPixel(frame), dbPerPixel(frame));
}

export function Picture(props: Props): JSX.Element {
  const { spectrum, front, inSight, settings, allowed } = props;
  const { node, shown } = front;
  const place = useRef<HTMLDivElement>(null);
  const groundCanvas = useRef<HTMLCanvasElement>(null);
  const frontCanvas = useRef<HTMLCanvasElement>(null);
  const described = useId();
  const frame = useFrame(place, spectrum, inSight);
  const curves = useMemo(
    () => spectrum.nodes.map((entry) => ({ node: entry.node, curve: entry.response })),
    [spectrum],
  );

  const gain = settings?.power ? allowed?.gain_db : undefined;
  const centre = allowed?.filters.find(({ name }) => name === settings?.filter)?.centre_mhz;
  const window =
    frame && shown?.window && settings?.centre_mhz !== undefined && centre
      ? windowBox(frame, shown.window)
      : null;
  const level = frame && shown && gain ? gainBox(frame, shown) : null;
  const handles = [window, level].filter((box): box is Box => box !== null);
  usePainting(groundCanvas, frontCanvas, { frame, spectrum, curves, front, handles });

  const looking = useSight({
    canvas: frontCanvas,
    frame,
    full: inSight.full,
    onSight: inSight.show,
    onTap: (x, y) => {
      const found = frame && tapped(frame, curves, node, x, y);
      if (found) props.onSelect(found);
    },
  });
  const { disabled, onEdit, onHold, onDrop } = props;
  const shared = frame && { node, frame, disabled, onEdit, onHold, onDrop };
  return (
    <div class="picture-place" ref={place}>
      <canvas ref={groundCanvas} aria-hidden="true" />
      <canvas
        ref={frontCanvas}
        class="front"
        role="img"
        tabIndex={0}
        aria-label={`Spectrum with ${node} in front`}
        aria-describedby={described}
        {...looking}
      />
      <p class="unseen" id={described}>
        {`${props.words}. ${howTo}`}
      </p>
      {shared && window && centre && settings?.centre_mhz !== undefined && (
        <WindowHandle {...shared} centre={settings.centre_mhz} box={window} steps={centre} />
      )}
      {shared && level && gain && settings && (
        <GainHandle {...shared} gain={settings.gain_db} box={level} steps={gain} />
      )}
    </div>
  );
}
