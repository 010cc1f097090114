// SPDX-License-Identifier: Apache-2.0
// What the node passes, over the span of the show: its gain against frequency, with the carriers on
// it.
import type { JSX } from 'preact';
import { useMemo } from 'preact/hooks';
import type uPlot from 'uplot';
import { get } from '../api/client';
import type { Node, NodeResponse, Segment } from '../api/types';
import { toView } from '../browser/route';
import type { HeardNode } from '../feed/state';
import { band, tenths, megahertzShort } from '../model/format';
import { axis } from '../feed/show';
import { toMhz } from '../model/axis';
import { RefusalText } from '../ui/findings';
import { Plot, type Colours, type PlotOptions } from '../ui/plot';
import { useAnswer } from '../ui/use_answer';
import { WindowStrip } from '../ui/window_strip';

// Carriers as strokes: microphones from above, the show's own transmitters with a foot from below.
function carriersOn(segment: Segment | null, node: Node, colours: Colours): uPlot.Plugin {
  return {
    hooks: {
      draw: (plot) => {
        const { ctx, bbox } = plot;
        ctx.save();
        ctx.beginPath();
        ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
        ctx.clip();
        const scale = devicePixelRatio;
        const own = new Set(node.carriers.own);
        for (const carrier of segment?.carriers ?? []) {
          const x = Math.round(plot.valToPos(carrier.frequency_mhz, 'x', true)) + 0.5;
          ctx.beginPath();
          ctx.lineWidth = 1.5 * scale;
          ctx.strokeStyle = carrier.use === 'receive' && !own.has(carrier.name) ? colours.edge : colours.text;
          if (carrier.use === 'receive') {
            ctx.moveTo(x, bbox.top);
            ctx.lineTo(x, bbox.top + 22 * scale);
          } else {
            const foot = bbox.top + bbox.height;
            ctx.moveTo(x, foot - 22 * scale);
            ctx.lineTo(x, foot);
            ctx.moveTo(x - 4 * scale, foot - 1);
            ctx.lineTo(x + 4 * scale, foot - 1);
          }
          ctx.stroke();
        }
        ctx.restore();
      },
    },
  };
}

interface Props {
  node: HeardNode;
  segment: Segment | null;
  // Of the settings that are being edited; null: none are.
  supposed: NodeResponse | null;
  edited: boolean;
}

const font = '12px system-ui, sans-serif';

function optionsOf(props: Props, colours: Colours, width: number): ReturnType<PlotOptions> {
  const { node, segment } = props;
  const grid = { stroke: colours.edge, width: 1 };
  const common: uPlot.Axis = { stroke: colours.quiet, grid, ticks: { show: false }, font };
  const unit = width < 400 ? '' : ' MHz';
  return {
    legend: { show: false },
    cursor: { show: true, points: { show: false }, drag: { x: false, y: false } },
    scales: {
      x: { time: false },
      y: { range: (_plot, low, high) => [Math.max(low, -60) - 2, Math.max(high, 5) + 5] },
    },
    axes: [
      {
        ...common,
        values: (_plot, ticks) => ticks.map((mhz) => `${megahertzShort(mhz)}${unit}`),
        space: width < 400 ? 50 : 80,
      },
      {
        ...common,
        values: (_plot, ticks) => ticks.map((db) => `${String(db).replace('-', '−')} dB`),
        size: 58,
      },
    ],
    series: [{}, { stroke: colours.text, width: 2, points: { show: false } }],
    plugins: [carriersOn(segment, node, colours)],
  };
}

// Until the curve has come: the window alone.
function WindowOnly({ node, segment }: Props): JSX.Element {
  return (
    <>
      <WindowStrip node={node} segment={segment} />
      {axis.value && (
        <p class="scale-ends steady">
          <span>{megahertzShort(toMhz(axis.value, 0))} MHz</span>
          <span>{megahertzShort(toMhz(axis.value, axis.value.length))} MHz</span>
        </p>
      )}
    </>
  );
}

export function ResponseSection(props: Props): JSX.Element {
  const { node, segment, supposed, edited } = props;
  const { name, seen } = node;
  const question = JSON.stringify([name, seen?.settings, seen?.passive, seen?.telemetry.powered]);
  const { answer, refusal } = useAnswer<NodeResponse>(edited ? null : question, (signal) =>
    get('/nodes/{node}/response', { node: name }, { signal }),
  );
  const response = edited ? supposed : answer;
  const data = useMemo<uPlot.AlignedData>(
    () => [response?.frequency_mhz ?? [], response?.gain_db ?? []],
    [response],
  );
  const passband = response?.passband_mhz ?? (edited ? undefined : seen?.passband_mhz);
  const window = passband ? `the window is ${band(passband)}` : 'there is no filter';
  return (
    <section class="part" aria-label="What it passes">
      <div class="part-head">
        <h2>
          What it passes <span class="quiet">{passband ? band(passband) : 'everything'}</span>
        </h2>
        <a class="button" href={toView('spectrum', { node: name })}>
          In the spectrum
        </a>
      </div>
      {response ? (
        <Plot
          label={`Gain from the antenna's terminals to the output of ${name} over frequency; ${window}; at most ${tenths(Math.max(...response.gain_db))} dB.`}
          height={190}
          data={data}
          shape={`${segment?.name} ${name} ${JSON.stringify(node.carriers.own)}`}
          options={(colours, width) => optionsOf(props, colours, width)}
        />
      ) : (
        <WindowOnly {...props} />
      )}
      <p class="quiet">
        Strokes from above are microphones, strokes with a foot are the show's own transmitters
        {response ? '.' : ', hatched is closed spectrum.'}
      </p>
      <RefusalText refusal={refusal} />
    </section>
  );
}
