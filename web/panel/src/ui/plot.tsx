// SPDX-License-Identifier: Apache-2.0
// uPlot in a frame: as wide as its place, in the colours of the theme, drawn anew when either
// changes.
import type { JSX } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import uPlot from 'uplot';
import { theme } from '../browser/settings_kept';
import { useWidth } from './use_width';

const names = ['text', 'quiet', 'edge'] as const;
export type Colours = Record<(typeof names)[number], string>;

function coloursNow(): Colours {
  const style = getComputedStyle(document.documentElement);
  return Object.fromEntries(
    names.map((name) => [name, style.getPropertyValue(`--${name}`).trim()]),
  ) as Colours;
}

export type PlotOptions = (
  colours: Colours,
  width: number,
) => Omit<uPlot.Options, 'width' | 'height'>;

interface Props {
  // Says in words what the picture shows.
  label: string;
  height: number;
  data: uPlot.AlignedData;
  options: PlotOptions;
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
