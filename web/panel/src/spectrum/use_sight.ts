// SPDX-License-Identifier: Apache-2.0
// Looking about in the picture: wheel, one or two fingers, keys. A tap is no movement.
import type { JSX, RefObject } from 'preact';
import { useLayoutEffect, useRef } from 'preact/hooks';
import type { Span } from '../model/axis';
import { mhzPerPixel, panned, pinched, placeOf, zoomed, type Frame } from './scale';

const still = 6; // px that a finger may slip in a tap
type Point = readonly [number, number];
type Canvas = JSX.TargetedPointerEvent<HTMLCanvasElement>;

interface Looking {
  canvas: RefObject<HTMLCanvasElement>;
  frame: Frame | null;
  full: Span;
  onSight: (sight: Span) => void;
  onTap: (x: number, y: number) => void;
}
// As it is by now, for those who listen from one drawing to another.
type Now = { current: Looking };

// `x`: where the wheel is turned.
function turned(event: WheelEvent, frame: Frame, full: Span, x: number): Span {
  const lines = event.deltaMode === WheelEvent.DOM_DELTA_LINE ? 16 : 1;
  if (event.shiftKey || Math.abs(event.deltaX) > Math.abs(event.deltaY)) {
    const across = event.shiftKey ? event.deltaY || event.deltaX : event.deltaX;
    return panned(frame.sight, full, across * lines * mhzPerPixel(frame));
  }
  const factor = Math.exp(-Math.max(-120, Math.min(120, event.deltaY * lines)) / 400);
  return zoomed(frame.sight, full, factor, placeOf(frame, x));
}

function useWheel(now: Now): void {
  useLayoutEffect(() => {
    const canvas = now.current.canvas.current;
    if (!canvas) return;
    const wheel = (event: WheelEvent): void => {
      const { frame, full, onSight } = now.current;
      if (!frame) return;
      const next = turned(event, frame, full, event.clientX - canvas.getBoundingClientRect().left);
      // With all of it in sight the wheel scrolls the page on.
      if (next[0] === frame.sight[0] && next[1] === frame.sight[1]) return;
      event.preventDefault();
      onSight(next);
    };
    canvas.addEventListener('wheel', wheel, { passive: false });
    return () => canvas.removeEventListener('wheel', wheel);
  }, []);
}

// Where the fingers were, and what was in sight, when their number last changed.
interface Start {
  at: readonly Point[];
  sight: Span;
  slipped: boolean;
}

function fingered(
  { at: from, sight }: Start,
  to: readonly Point[],
  frame: Frame,
  full: Span,
): Span {
  const share = (point: Point | undefined): number =>
    ((point?.[0] ?? 0) - frame.left) / (frame.right - frame.left);
  if (to.length === 2 && from.length === 2)
    return pinched(sight, full, [share(from[0]), share(from[1])], [share(to[0]), share(to[1])]);
  return panned(sight, full, (share(from[0]) - share(to[0])) * (sight[1] - sight[0]));
}

interface Fingers {
  onPointerDown: (event: Canvas) => void;
  onPointerMove: (event: Canvas) => void;
  onPointerUp: (event: Canvas) => void;
  onPointerCancel: (event: Canvas) => void;
}

const place = (event: Canvas): Point => {
  const { left, top } = event.currentTarget.getBoundingClientRect();
  return [event.clientX - left, event.clientY - top];
};

function useFingers(now: Now): Fingers {
  const pointers = useRef(new Map<number, Point>());
  const start = useRef<Start | null>(null);
  const begin = (slipped: boolean): void => {
    const { frame } = now.current;
    const at = [...pointers.current.values()];
    start.current = frame && at.length > 0 ? { at, sight: frame.sight, slipped } : null;
  };
  const end = (event: Canvas, tapped: boolean): void => {
    if (!pointers.current.has(event.pointerId)) return;
    const alone = pointers.current.size === 1;
    pointers.current.delete(event.pointerId);
    if (tapped && alone && start.current && !start.current.slipped)
      now.current.onTap(...place(event));
    begin(true);
  };
  return {
    onPointerDown: (event) => {
      if (event.button !== 0 || pointers.current.size === 2) return;
      event.currentTarget.setPointerCapture(event.pointerId);
      pointers.current.set(event.pointerId, place(event));
      begin(pointers.current.size > 1);
    },
    onPointerMove: (event) => {
      if (!pointers.current.has(event.pointerId)) return;
      pointers.current.set(event.pointerId, place(event));
      const { frame, full, onSight } = now.current;
      const from = start.current;
      const [first] = from?.at ?? [];
      if (!frame || !from || !first) return;
      const at = [...pointers.current.values()];
      const [x, y] = at[0]!;
      if (at.length === 1 && Math.hypot(x - first[0], y - first[1]) > still) from.slipped = true;
      if (at.length === 2 || from.slipped) onSight(fingered(from, at, frame, full));
    },
    onPointerUp: (event) => end(event, true),
    onPointerCancel: (event) => end(event, false),
  };
}

function keyed(key: string, sight: Span, full: Span): Span | null {
  const width = sight[1] - sight[0];
  const middle = (sight[0] + sight[1]) / 2;
  switch (key) {
    case 'ArrowLeft':
      return panned(sight, full, -width / 10);
    case 'ArrowRight':
      return panned(sight, full, width / 10);
    case '+':
    case '=':
      return zoomed(sight, full, 1.5, middle);
    case '-':
    case '−':
      return zoomed(sight, full, 1 / 1.5, middle);
    case 'Home':
      return full;
    default:
      return null;
  }
}

export function useSight(
  looking: Looking,
): Fingers & { onKeyDown: (event: JSX.TargetedKeyboardEvent<HTMLCanvasElement>) => void } {
  const now = useRef(looking);
  now.current = looking;
  useWheel(now);
  return {
    ...useFingers(now),
    onKeyDown: (event) => {
      const { frame, full, onSight } = now.current;
      if (!frame || event.ctrlKey || event.altKey || event.metaKey) return;
      const next = keyed(event.key, frame.sight, full);
      if (!next) return;
      event.preventDefault();
      onSight(next);
    },
  };
}
