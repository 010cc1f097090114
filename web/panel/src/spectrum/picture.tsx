// SPDX-License-Identifier: Apache-2.0
// The spectrum as a picture on two canvases: what stays, and the selected node in front of it, so
// that drawing a window along paints only the latter. Its handles lie over both.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { useId, useLayoutEffect, useRef } from 'preact/hooks';
import type { Settings, Spectrum, Steps } from '../api/types';
import { theme } from '../browser/settings_kept';
import { decibels, megahertz } from '../model/format';
import type { Axis } from '../model/axis';
import type { Span } from '../model/span';
import { gainAt, type Shown } from './curve';
import { Handle } from './handle';
import { hit, type Candidate } from './hit';
import { fresh, inkOf } from './ink';
import type { Box } from './labels';
import { paintFront } from './paint_front';
import { paintGround } from './paint_ground';
import type { Fate, Product } from './passing';
import {
  dbPerPixel,
  decade,
  frameOf,
  gains,
  mhzOf,
  mhzPerPixel,
  xOf,
  yOf,
  type Frame,
} from './scale';
import { useSight } from './use_sight';

const touch = 44; // px

interface Props {
  spectrum: Spectrum;
  curves: readonly Candidate[];
  node: string;
  shown: Shown | null;
  fates: readonly Fate[];
  products: readonly Product[];
  harmed: ReadonlySet<string>;
  settings: Settings | null;
  // Absent: cannot be moved.
  gain?: Steps | undefined;
  centre?: Steps | undefined;
  disabled: boolean;
  live: boolean;
  label: string;
  description: string;
  axis: Axis;
  sight: Span;
  full: Span;
  onSight: (sight: Span) => void;
  onSelect: (node: string) => void;
  onEdit: (changed: Partial<Settings>) => void;
  onHold: (held: boolean) => void;
  onDrop: () => void;
}

// The strongest carrier stands a good way below a gain of 0 dB, so that the top of a curve is free.
function dbmAtZero(spectrum: Spectrum): number {
  let strongest = -Infinity;
  for (const carrier of spectrum.carriers)
    for (const level of Object.values(carrier.at_nodes)) strongest = Math.max(strongest, level);
  return Number.isFinite(strongest) ? decade(strongest + 25) : 0;
}

function windowBox(frame: Frame, [low, high]: Span): Box {
  const left = Math.max(frame.left, xOf(frame, low));
  const right = Math.min(frame.right, xOf(frame, high));
  const width = Math.max(touch, right - left);
  const middle = Math.min(
    frame.right - width / 2,
    Math.max(frame.left + width / 2, (left + right) / 2),
  );
  return { x: middle - width / 2, y: frame.top + 3, width, height: touch };
}

// A phone has room for the number only.
const narrow = (frame: Frame): boolean => frame.width < 600;

function gainBox(frame: Frame, { curve, passband_mhz }: Shown): Box {
  const [low, high] = passband_mhz ?? [mhzOf(frame, frame.left), mhzOf(frame, frame.right)];
  const left = Math.max(frame.left, xOf(frame, low));
  const right = Math.min(frame.right, xOf(frame, high));
  const width = Math.max(touch, frame.px * (narrow(frame) ? 5.5 : 8));
  const middle = Math.min(
    frame.right - width / 2,
    Math.max(frame.left + width / 2, (left + right) / 2),
  );
  // Below the line, where it hides nothing of it.
  const y = yOf(frame, gainAt(curve, (low + high) / 2)) + 4;
  return {
    x: middle - width / 2,
    y: Math.min(frame.bottom - touch, Math.max(frame.top + touch + 8, y)),
    width,
    height: touch,
  };
}

export function Picture(props: Props): JSX.Element {
  const { spectrum, curves, node, shown, fates, products, harmed, settings, gain, centre } = props;
  const { disabled, live, label, description, axis, sight, full } = props;
  const place = useRef<HTMLDivElement>(null);
  const ground = useRef<HTMLCanvasElement>(null);
  const front = useRef<HTMLCanvasElement>(null);
  const size = useSignal({ width: 0, height: 0, em: 1 });
  const described = useId();
  const light = theme.value;

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
  const frame =
    width > 150 && height > 150 ? frameOf(width, height, em, axis, sight, dbmAtZero(spectrum)) : null;

  const movable = shown?.passband_mhz && settings?.centre_mhz !== undefined && centre;
  const window = frame && movable ? windowBox(frame, shown.passband_mhz!) : null;
  const level = frame && shown && settings?.power && gain ? gainBox(frame, shown) : null;

  // A window that is dragged to another screen may change the ratio of pixels without a new size.
  const ratio = devicePixelRatio;
  useLayoutEffect(() => {
    if (!frame || !ground.current) return;
    const ctx = fresh(ground.current, width, height);
    if (ctx) paintGround(ctx, frame, inkOf(ground.current), spectrum, curves, node);
  }, [width, height, em, axis, sight, spectrum, curves, node, light, live, ratio]);
  useLayoutEffect(() => {
    if (!frame || !front.current) return;
    const ctx = fresh(front.current, width, height);
    if (!ctx || !shown) return;
    const handles = [window, level].filter((box): box is Box => box !== null);
    paintFront(ctx, frame, inkOf(front.current), { node, shown, fates, products, harmed, handles });
  }, [
    width,
    height,
    em,
    axis,
    sight,
    spectrum,
    node,
    shown,
    fates,
    products,
    harmed,
    light,
    live,
    ratio,
  ]);

  const looking = useSight({
    canvas: front,
    frame,
    full,
    onSight: props.onSight,
    onTap: (x, y) => {
      if (!frame) return;
      const db = gains[1] - (y - frame.top) * dbPerPixel(frame);
      const found = hit(curves, node, mhzOf(frame, x), db, mhzPerPixel(frame), dbPerPixel(frame));
      if (found) props.onSelect(found);
    },
  });

  return (
    <div class="picture-place" ref={place}>
      <canvas ref={ground} aria-hidden="true" />
      <canvas
        ref={front}
        class="front"
        role="img"
        tabIndex={0}
        aria-label={label}
        aria-describedby={described}
        {...looking}
      />
      <p class="unseen" id={described}>
        {description}
      </p>
      {window && settings?.centre_mhz !== undefined && centre && (
        <Handle
          upright={false}
          label={`Window of ${node}: centre`}
          value={settings.centre_mhz}
          says={`${megahertz(settings.centre_mhz)} MHz`}
          steps={centre}
          large={1}
          box={window}
          perPixel={frame ? mhzPerPixel(frame) : 0}
          disabled={disabled}
          onMove={(centre_mhz) => props.onEdit({ centre_mhz })}
          onHold={props.onHold}
          onDrop={props.onDrop}
        >
          <i aria-hidden="true">◂</i>
          {window.width >= frame!.px * 7.5 && (
            <b>
              {megahertz(settings.centre_mhz)}
              {window.width >= frame!.px * 11 ? ' MHz' : ''}
            </b>
          )}
          <i aria-hidden="true">▸</i>
        </Handle>
      )}
      {level && settings && gain && shown && (
        <Handle
          upright
          label={`Gain of ${node}`}
          value={settings.gain_db}
          says={`${decibels(settings.gain_db)} dB`}
          steps={gain}
          large={Math.max(3, gain.step)}
          box={level}
          perPixel={frame ? dbPerPixel(frame) : 0}
          disabled={disabled}
          onMove={(gain_db) => props.onEdit({ gain_db })}
          onHold={props.onHold}
          onDrop={props.onDrop}
        >
          {frame && !narrow(frame) && <i aria-hidden="true">▴▾</i>}
          <b>{decibels(settings.gain_db)} dB</b>
        </Handle>
      )}
    </div>
  );
}
