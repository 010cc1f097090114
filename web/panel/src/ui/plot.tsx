// SPDX-License-Identifier: Apache-2.0
// uPlot in a frame: as wide as its place, in the colours of the theme, drawn anew when either
// changes.
import type { JSX } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import uPlot from 'uplot';
import { theme } from '../browser/settings_kept';
import { useWidth } from './use_width';

export interface Colours {
  text: string;
  quiet: string;
  edge: string;
  surface: string;
  fault: string;
  caution: string;
  moving: string;
}

function coloursNow(): Colours {
  const style = getComputedStyle(document.documentElement);
  const of = (name: string): string => style.getPropertyValue(`--${name}`).trim();
  return {
    text: of('text'),
    quiet: of('quiet'),
    edge: of('edge'),
    surface: of('surface'),
    fault: of('fault'),
    caution: of('caution'),
    moving: of('moving'),
  };
}

interface Props {
  // Says in words what the picture shows.
  label: string;
  height: number;
  data: uPlot.AlignedData;
  options: (colours: Colours, width: number) => Omit<uPlot.Options, 'width' | 'height'>;
  // Equal text: only the data is new.
  shape: string;
}

export function Plot({ label, height, data, options, shape }: Props): JSX.Element {
  const place = useRef<HTMLDivElement>(null);
  const plot = useRef<uPlot | null>(null);
  const width = useWidth(place);
  const light = theme.value;
  useEffect(() => {
    if (!place.current || width < 50) return;
    const made = new uPlot({ ...options(coloursNow(), width), width, height }, data, place.current);
    plot.current = made;
    return () => {
      plot.current = null;
      made.destroy();
    };
  }, [width, height, shape, light]);
  useEffect(() => void plot.current?.setData(data), [data]);
  return <div class="plot" ref={place} role="img" aria-label={label} />;
}
