// SPDX-License-Identifier: Apache-2.0
// The field, or the cell, in hand is never under the bar that says what its edit would do, however
// the bar or the page grow and however little room is left. Scrolling by hand is left alone.
import type { RefObject } from 'preact';
import { useEffect } from 'preact/hooks';

// What of the scrolled page the bar lies over, from below, CSS px. One that flows lies over nothing.
function reach(bar: HTMLElement): number {
  const { position, bottom } = getComputedStyle(bar);
  return position === 'static' ? 0 : bar.offsetHeight + (Number.parseFloat(bottom) || 0);
}

function covers(bar: HTMLElement, field: HTMLElement): boolean {
  const [a, b] = [bar.getBoundingClientRect(), field.getBoundingClientRect()];
  return a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
}

export function useFieldInSight(bar: RefObject<HTMLElement>): void {
  useEffect(() => {
    const over = bar.current;
    if (!over) return;
    const { style } = document.documentElement;
    const uncover = (): void => {
      style.setProperty('--bar-reach', `${reach(over)}px`);
      const field = document.activeElement?.closest<HTMLElement>('.field, [data-at]');
      if (field && !over.contains(field) && covers(over, field))
        field.scrollIntoView({ block: 'nearest' });
    };
    const growing = new ResizeObserver(uncover);
    growing.observe(over);
    growing.observe(document.body);
    window.addEventListener('resize', uncover);
    return () => {
      growing.disconnect();
      window.removeEventListener('resize', uncover);
      style.removeProperty('--bar-reach');
    };
  }, []);
}
