// SPDX-License-Identifier: Apache-2.0
// A slider that lies in the picture: drawn along with mouse or finger, or moved by keys.
import type { ComponentChildren, JSX } from 'preact';
import { useLayoutEffect, useRef } from 'preact/hooks';
import type { Steps } from '../api/types';
import { snap } from '../model/settings';
import type { Box } from './labels';
import { slid } from './sliding';

interface Props {
  upright: boolean;
  label: string;
  value: number;
  says: string;
  steps: Steps;
  // What Page Up and Page Down move by.
  large: number;
  box: Box;
  // What a px to the right, or upwards, is worth.
  perPixel: number;
  disabled: boolean;
  children: ComponentChildren;
  onMove: (value: number) => void;
  onHold: (held: boolean) => void;
  onDrop: () => void;
}

export function Handle(props: Props): JSX.Element {
  const { upright, label, value, says, steps, large, box, perPixel, disabled, children } = props;
  const { onMove, onHold, onDrop } = props;
  const element = useRef<HTMLDivElement>(null);
  const held = useRef<{ pointer: number; from: number; at: number; stop: () => void } | null>(null);

  useLayoutEffect(() => {
    const style = element.current?.style;
    if (!style) return;
    style.transform = `translate(${Math.round(box.x)}px, ${Math.round(box.y)}px)`;
    style.width = `${Math.round(box.width)}px`;
    style.height = `${Math.round(box.height)}px`;
  }, [box.x, box.y, box.width, box.height]);

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

  const along = (event: PointerEvent): number => (upright ? -event.clientY : event.clientX);
  return (
    <div
      ref={element}
      class={upright ? 'handle upright' : 'handle'}
      role="slider"
      tabIndex={disabled ? -1 : 0}
      aria-label={label}
      aria-orientation={upright ? 'vertical' : 'horizontal'}
      aria-valuemin={steps.lowest}
      aria-valuemax={steps.highest}
      aria-valuenow={value}
      aria-valuetext={says}
      aria-disabled={disabled}
      onKeyDown={(event) => {
        if (disabled || event.ctrlKey || event.altKey || event.metaKey) return;
        const to = slid(event.key, value, steps, large);
        if (to === null) return;
        event.preventDefault();
        event.stopPropagation();
        if (to !== value) onMove(to);
      }}
      onPointerDown={(event) => {
        if (disabled || held.current || event.button !== 0) return;
        event.preventDefault();
        event.stopPropagation();
        event.currentTarget.setPointerCapture(event.pointerId);
        event.currentTarget.focus({ preventScroll: true });
        const escape = (key: KeyboardEvent): void => {
          if (key.key !== 'Escape') return;
          key.preventDefault();
          key.stopPropagation();
          release();
          onDrop();
        };
        addEventListener('keydown', escape, true);
        held.current = {
          pointer: event.pointerId,
          from: value,
          at: along(event),
          stop: () => removeEventListener('keydown', escape, true),
        };
        onHold(true);
      }}
      onPointerMove={(event) => {
        const now = held.current;
        if (!now || now.pointer !== event.pointerId) return;
        const to = snap(now.from + (along(event) - now.at) * perPixel, steps);
        if (to !== value) onMove(to);
      }}
      onPointerUp={(event) => {
        if (held.current?.pointer === event.pointerId) release();
      }}
      onPointerCancel={(event) => {
        if (held.current?.pointer === event.pointerId) release();
      }}
    >
      <span class="grip">{children}</span>
    </div>
  );
}
