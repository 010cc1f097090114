// SPDX-License-Identifier: Apache-2.0
// Drawing a value along with mouse or finger. Escape drops it.
import type { JSX } from 'preact';
import { useLayoutEffect, useRef } from 'preact/hooks';
import type { Steps } from '../api/types';
import { snap } from '../model/settings';

export interface Drag {
  upright: boolean;
  value: number;
  steps: Steps;
  // What a px to the right, or upwards, is worth.
  perPixel: number;
  disabled: boolean;
  onMove: (value: number) => void;
  onHold: (held: boolean) => void;
  onDrop: () => void;
}

type Pointer = JSX.TargetedPointerEvent<HTMLElement>;

interface Handlers {
  onPointerDown: (event: Pointer) => void;
  onPointerMove: (event: Pointer) => void;
  onPointerUp: (event: Pointer) => void;
  onPointerCancel: (event: Pointer) => void;
}

function onEscape(act: () => void): () => void {
  const escape = (key: KeyboardEvent): void => {
    if (key.key !== 'Escape') return;
    key.preventDefault();
    key.stopPropagation();
    act();
  };
  addEventListener('keydown', escape, true);
  return () => removeEventListener('keydown', escape, true);
}

export function useDrag(drag: Drag): Handlers {
  const { upright, value, steps, perPixel, disabled, onMove, onHold, onDrop } = drag;
  const held = useRef<{ pointer: number; from: number; at: number; stop: () => void } | null>(null);
  const release = (): void => {
    held.current?.stop();
    held.current = null;
    onHold(false);
  };
  useLayoutEffect(() => {
    // Nothing is drawn along on the word of a daemon that is not there.
    if (disabled && held.current) release();
  }, [disabled]);
  useLayoutEffect(() => () => held.current?.stop(), []);

  const along = (event: Pointer): number => (upright ? -event.clientY : event.clientX);
  const end = (event: Pointer): void => {
    if (held.current?.pointer === event.pointerId) release();
  };
  return {
    onPointerDown: (event) => {
      if (disabled || held.current || event.button !== 0) return;
      event.preventDefault();
      event.stopPropagation();
      event.currentTarget.setPointerCapture(event.pointerId);
      event.currentTarget.focus({ preventScroll: true });
      const stop = onEscape(() => {
        release();
        onDrop();
      });
      held.current = { pointer: event.pointerId, from: value, at: along(event), stop };
      onHold(true);
    },
    onPointerMove: (event) => {
      const now = held.current;
      if (!now || now.pointer !== event.pointerId) return;
      const to = snap(now.from + (along(event) - now.at) * perPixel, steps);
      if (to !== value) onMove(to);
    },
    onPointerUp: end,
    onPointerCancel: end,
  };
}
