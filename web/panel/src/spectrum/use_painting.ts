// SPDX-License-Identifier: Apache-2.0
// Paints the two canvases, each only when something in it has changed.
import type { RefObject } from 'preact';
import { useLayoutEffect } from 'preact/hooks';
import type { Spectrum } from '../api/types';
import { theme } from '../browser/settings_kept';
import { live } from '../feed/store';
import type { Candidate } from './hit';
import { penFor } from './ink';
import type { Box } from './labels';
import { paintFront } from './paint_front';
import { paintGround } from './paint_ground';
import type { Frame } from './scale';
import type { InFront } from './use_front';

interface Painted {
  frame: Frame | null;
  spectrum: Spectrum;
  curves: readonly Candidate[];
  front: InFront;
  handles: readonly Box[];
}

export function usePainting(
  groundCanvas: RefObject<HTMLCanvasElement>,
  frontCanvas: RefObject<HTMLCanvasElement>,
  { frame, spectrum, curves, front, handles }: Painted,
): void {
  const { node, shown, fates, old, products, harmed } = front;
  // A window that is dragged to another screen may change the ratio of pixels without a new size.
  const looks = [theme.value, live.value, devicePixelRatio];
  useLayoutEffect(() => {
    const pen = penFor(groundCanvas.current, frame);
    if (pen) paintGround(pen, spectrum, curves, node);
  }, [frame, spectrum, curves, node, ...looks]);
  useLayoutEffect(() => {
    const pen = penFor(frontCanvas.current, frame);
    if (pen && shown) paintFront(pen, { node, shown, fates, old, products, harmed, handles });
  }, [frame, node, shown, fates, old, products, harmed, ...looks]);
}
