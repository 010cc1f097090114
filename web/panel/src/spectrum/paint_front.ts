// SPDX-License-Identifier: Apache-2.0
// The selected node: its window, its curve, what is left of each carrier behind it, and what is
// wrong.
import { tenths, signedTenths } from '../model/format';
import type { Span } from '../model/axis';
import type { Shown } from './curve';
import { lines, widthOf, type Pen } from './ink';
import { withRoom, type Box } from './labels';
import { clipped, head, inSight, levelY, traced } from './paint_ground';
import type { Fate, Product } from './passing';
import { xOf, yOfLevel, type Frame } from './scale';

export interface Front {
  node: string;
  shown: Shown;
  fates: readonly Fate[];
  // They are of other settings.
  old: boolean;
  products: readonly Product[];
  // Carriers on which one of them is too strong.
  harmed: ReadonlySet<string>;
  // Where handles lie, so that no word lies below them.
  handles: readonly Box[];
}

const wrongWords = { 'not-passed': 'not passed', 'let-in': 'let in' } as const;

// Worst first; then transmitters, the node's own microphones, the others.
const weight = (fate: Fate): number =>
  fate.wrong ? 0 : fate.carrier.use === 'transmit' ? 1 : fate.own ? 2 : 3;

// Level at the node's output.
const behindY = (frame: Frame, { level_dbm, gain_db }: Fate): number | null =>
  level_dbm === undefined ? null : yOfLevel(frame, level_dbm + gain_db);

function labels({ ctx, frame, ink }: Pen, front: Front): void {
  ctx.font = `${frame.px}px ${ink.font}`;
  ctx.textAlign = 'center';
  ctx.textBaseline = 'alphabetic';
  const line = frame.px + 3;
  const wanted = front.fates
    .filter((fate) => inSight(frame, fate.carrier))
    .sort((a, b) => weight(a) - weight(b))
    .map((fate) => {
      const words = [
        fate.carrier.name,
        fate.passed ? `${signedTenths(fate.gain_db)} dB` : `rejected ${tenths(fate.down_db)} dB`,
      ];
      if (fate.wrong) words.splice(1, 0, wrongWords[fate.wrong]);
      const width = Math.max(...words.map((word) => widthOf(ctx, word))) + 8;
      const x = xOf(frame, fate.carrier.frequency_mhz);
      const height = words.length * line;
      const box: Box = {
        x: Math.min(frame.right - width, Math.max(frame.left, x - width / 2)),
        // Above the mark, and above what an amplifier makes of it.
        y:
          Math.min(levelY(frame, fate.carrier, front.node) - 9, behindY(frame, fate) ?? Infinity) -
          3 -
          height,
        width,
        height,
      };
      return { fate, words, box };
    });
  const room = withRoom(
    wanted.map(({ box }) => box),
    front.handles,
    frame.left,
    frame.right,
  );
  for (const i of room) {
    const { fate, words, box } = wanted[i]!;
    ctx.globalAlpha = 0.8;
    ctx.fillStyle = ink.surface;
    ctx.fillRect(box.x, box.y, box.width, box.height);
    ctx.globalAlpha = 1;
    words.forEach((word, row) => {
      ctx.fillStyle =
        fate.wrong && row < words.length - 1 ? ink.fault : row === 0 ? ink.text : ink.quiet;
      ctx.fillText(word, box.x + box.width / 2, box.y + (row + 1) * line - 4);
    });
  }
}

function product({ ctx, frame, ink }: Pen, landed: Product, harms: boolean): void {
  const x = xOf(frame, landed.at_mhz);
  const y = Math.min(frame.bottom - 12, yOfLevel(frame, landed.level_dbm));
  ctx.strokeStyle = harms ? ink.caution : ink.quiet;
  ctx.lineWidth = 2;
  ctx.setLineDash([3, 3]);
  lines(ctx, [[x, frame.bottom, x, y + 6]]);
  ctx.setLineDash([]);
  // A lozenge with a bar: neither a ring nor a wedge.
  ctx.beginPath();
  ctx.moveTo(x, y - 7);
  ctx.lineTo(x + 6, y);
  ctx.lineTo(x, y + 7);
  ctx.lineTo(x - 6, y);
  ctx.closePath();
  ctx.fillStyle = ink.surface;
  ctx.fill();
  ctx.stroke();
}

function passband({ ctx, frame, ink }: Pen, [low, high]: Span): void {
  const left = xOf(frame, low);
  const right = xOf(frame, high);
  ctx.globalAlpha = 0.22;
  ctx.fillStyle = ink.passband;
  ctx.fillRect(left, frame.top, right - left, frame.bottom - frame.top);
  ctx.globalAlpha = 1;
  ctx.strokeStyle = ink.quiet;
  ctx.lineWidth = 1.5;
  lines(
    ctx,
    [left, right].map((x) => [x, frame.top, x, frame.bottom]),
  );
}

// What is left of a carrier behind the node; and its mark at the antenna where it matters here.
function carrier(pen: Pen, node: string, fate: Fate): void {
  const { ctx, frame, ink } = pen;
  const { use, frequency_mhz } = fate.carrier;
  const matters = fate.own || fate.wrong !== undefined || use === 'transmit';
  const x = xOf(frame, frequency_mhz);
  const at = levelY(frame, fate.carrier, node);
  ctx.strokeStyle = ctx.fillStyle = fate.wrong
    ? ink.fault
    : matters
      ? ink.text
      : ink['edge-strong'];
  ctx.lineWidth = matters ? 3 : 2;
  lines(ctx, [[x, frame.bottom, x, Math.min(frame.bottom - 2, behindY(frame, fate) ?? at)]]);
  if (!matters) return;
  head(pen, use, x, at);
  ctx.fill();
  if (!fate.wrong) return;
  ctx.lineWidth = 2;
  lines(ctx, [
    [x - 6, at - 6, x + 6, at + 6],
    [x + 6, at - 6, x - 6, at + 6],
  ]);
}

function curve(pen: Pen, shown: Shown): void {
  const { ctx, ink } = pen;
  traced(pen, shown.curve);
  ctx.lineJoin = 'round';
  ctx.strokeStyle = ink.surface;
  ctx.lineWidth = 5;
  ctx.stroke();
  ctx.strokeStyle = ink.text;
  ctx.lineWidth = 2.5;
  // Of other settings: not to be taken for what is edited.
  if (shown.basis === 'before') ctx.setLineDash([6, 5]);
  ctx.stroke();
  ctx.setLineDash([]);
}

// What is old is grey.
const greyed = ({ ink, ...pen }: Pen): Pen => ({
  ...pen,
  ink: { ...ink, text: ink.quiet, fault: ink.quiet },
});

export function paintFront(pen: Pen, front: Front): void {
  const { node, shown, fates, old, products, harmed } = front;
  const told = old ? greyed(pen) : pen;
  pen.ctx.save();
  clipped(pen);
  if (shown.window) passband(pen, shown.window);
  for (const fate of fates) if (inSight(pen.frame, fate.carrier)) carrier(told, node, fate);
  curve(pen, shown);
  for (const landed of products) product(pen, landed, harmed.has(landed.lands_on));
  labels(told, front);
  pen.ctx.restore();
}
