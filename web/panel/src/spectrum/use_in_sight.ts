// SPDX-License-Identifier: Apache-2.0
// What of the axis is in sight: all of the show, until somebody looks closer.
import { useSignal } from '@preact/signals';
import { useMemo } from 'preact/hooks';
import type { Spectrum } from '../api/types';
import { axis as axisOfShow } from '../feed/show';
import { plainAxis, type Axis, type Span } from '../model/axis';

export interface InSight {
  axis: Axis;
  full: Span;
  sight: Span;
  // Nothing is out of sight.
  all: boolean;
  show: (sight: Span) => void;
}

export function useInSight({ span_mhz: [low = 0, high = 1] }: Spectrum): InSight {
  // Until the segments have come the daemon's span has to do.
  const ofShow = axisOfShow.value;
  const axis = useMemo(() => ofShow ?? plainAxis([low, high]), [ofShow, low, high]);
  const full = useMemo<Span>(() => [0, axis.length], [axis]);
  const chosen = useSignal<Span | null>(null);
  return {
    axis,
    full,
    sight: chosen.value ?? full,
    all: chosen.value === null,
    show: (to) => void (chosen.value = to[0] === full[0] && to[1] === full[1] ? null : to),
  };
}
