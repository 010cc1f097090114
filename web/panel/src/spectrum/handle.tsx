// SPDX-License-Identifier: Apache-2.0
// A slider that lies in the picture: drawn along with mouse or finger, or moved by keys.
import type { ComponentChildren, JSX } from 'preact';
import { useLayoutEffect, useRef } from 'preact/hooks';
import type { Box } from './labels';
import { slid } from './sliding';
import { useDrag, type Drag } from './use_drag';

interface Props extends Drag {
  label: string;
  says: string;
  // What Page Up and Page Down move by.
  large: number;
  box: Box;
  children: ComponentChildren;
}

export function Handle(props: Props): JSX.Element {
  const { upright, label, value, says, steps, large, box, disabled, children } = props;
  const element = useRef<HTMLDivElement>(null);
  useLayoutEffect(() => {
    const style = element.current?.style;
    if (!style) return;
    style.transform = `translate(${Math.round(box.x)}px, ${Math.round(box.y)}px)`;
    style.width = `${Math.round(box.width)}px`;
    style.height = `${Math.round(box.height)}px`;
  }, [box.x, box.y, box.width, box.height]);
  const drag = useDrag(props);
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
        if (to !== value) props.onMove(to);
      }}
      {...drag}
    >
      <span class="grip">{children}</span>
    </div>
  );
}
