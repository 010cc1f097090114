// SPDX-License-Identifier: Apache-2.0
// The width that a picture has, px, so that its text stays as large as all text.
import { useSignal } from '@preact/signals';
import type { RefObject } from 'preact';
import { useEffect } from 'preact/hooks';

export function useWidth(ref: RefObject<HTMLElement>): number {
  const width = useSignal(0);
  useEffect(() => {
    if (!ref.current) return;
    const observer = new ResizeObserver(([entry]) => {
      if (entry) width.value = Math.floor(entry.contentRect.width);
    });
    observer.observe(ref.current);
    return () => observer.disconnect();
  }, []);
  return width.value;
}
