// SPDX-License-Identifier: Apache-2.0
// Looking about in the picture: wheel, one or two fingers, keys. A tap is no movement.
import type { JSX, RefObject } from 'preact';
import { useLayoutEffect, useRef } from 'preact/hooks';
import type { Span } from '../model/span';
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

export function useSight(looking: Looking): {
  onPointerDown: (event: Canvas) => void;
  onPointerMove: (event: Canvas) => void;
  onPointerUp: (event: Canvas) => void;
  onPointerCancel: (event: Canvas) => void;
  onKeyDown: (event: JSX.TargetedKeyboardEvent<HTMLCanvasElement>) => void;
} {
  const now = useRef(looking);
  now.current = looking;
  const pointers = useRef(new Map<number, Point>());
  // Where the fingers were, and what was in sight, when their number last changed.
  const start = useRef<{ at: Point[]; sight: Span; slipped: boolean } | null>(null);

  useLayoutEffect(() => {
    const canvas = looking.canvas.current;
    if (!canvas) return;
    const wheel = (event: WheelEvent): void => {
      const { frame, full, onSight } = now.current;
      if (!frame) return;
      const { sight } = frame;
      const lines = event.deltaMode === WheelEvent.DOM_DELTA_LINE ? 16 : 1;
      const across = event.shiftKey ? event.deltaY || event.deltaX : event.deltaX;
      const next =
        event.shiftKey || Math.abs(event.deltaX) > Math.abs(event.deltaY)
          ? panned(sight, full, across * lines * mhzPerPixel(frame))
          : zoomed(
              sight,
              full,
              Math.exp(-Math.max(-120, Math.min(120, event.deltaY * lines)) / 400),
              placeOf(frame, event.clientX - canvas.getBoundingClientRect().left),
            );
      // With all of it in sight the wheel scrolls the page on.
      if (next[0] === sight[0] && next[1] === sight[1]) return;
      event.preventDefault();
      onSight(next);
    };
    canvas.addEventListener('wheel', wheel, { passive: false });
    return () => canvas.removeEventListener('wheel', wheel);
  }, []);

  const place = (event: Canvas): Point => {
    const { left, top } = event.currentTarget.getBoundingClientRect();
    return [event.clientX - left, event.clientY - top];
  };
  const begin = (slipped: boolean): void => {
    const { frame } = now.current;
    start.current =
      frame && pointers.current.size > 0
        ? { at: [...pointers.current.values()], sight: frame.sight, slipped }
        : null;
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
      if (!frame || !from) return;
      const at = [...pointers.current.values()];
      const share = ([x]: Point): number => (x - frame.left) / (frame.right - frame.left);
      if (at.length === 2 && from.at.length === 2) {
        onSight(
          pinched(
            from.sight,
            full,
            [share(from.at[0]!), share(from.at[1]!)],
            [share(at[0]!), share(at[1]!)],
          ),
        );
        return;
      }
      const dx = at[0]![0] - from.at[0]![0];
      if (Math.hypot(dx, at[0]![1] - from.at[0]![1]) > still) from.slipped = true;
      if (from.slipped)
        onSight(
          panned(
            from.sight,
            full,
            (-dx * (from.sight[1] - from.sight[0])) / (frame.right - frame.left),
          ),
        );
    },
    onPointerUp: (event) => end(event, true),
    onPointerCancel: (event) => end(event, false),
    onKeyDown: (event) => {
      const { frame, full, onSight } = now.current;
      if (!frame || event.ctrlKey || event.altKey || event.metaKey) return;
      const { sight } = frame;
      const width = sight[1] - sight[0];
      const middle = (sight[0] + sight[1]) / 2;
      const next: Record<string, () => Span> = {
        ArrowLeft: () => panned(sight, full, -width / 10),
        ArrowRight: () => panned(sight, full, width / 10),
        '+': () => zoomed(sight, full, 1.5, middle),
        '=': () => zoomed(sight, full, 1.5, middle),
        '-': () => zoomed(sight, full, 1 / 1.5, middle),
        '−': () => zoomed(sight, full, 1 / 1.5, middle),
        Home: () => full,
      };
      const move = next[event.key];
      if (!move) return;
      event.preventDefault();
      onSight(move());
    },
  };
}
