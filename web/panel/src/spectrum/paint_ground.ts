// SPDX-License-Identifier: Apache-2.0
// What stays while a window is drawn along: lanes, scales, the other nodes' curves, and the
// carriers as they come to the antenna.
import type { Spectrum } from '../api/types';
import type { Stretch } from '../model/axis';
import { megahertzShort } from '../model/format';
import type { Curve } from './curve';
import type { Candidate } from './hit';
import { fitted, lines, widthOf, type Pen } from './ink';
import type { Carrier } from './passing';
import { gains, marks, xOf, yOf, yOfLevel, type Frame } from './scale';

const short = { receive: 'RX', transmit: 'TX', closed: '' } as const;
export const purposes = {
  receive: 'to receive',
  transmit: 'to transmit',
  closed: 'closed',
} as const;

type Lane = Spectrum['lanes'][number];

function lane({ ctx, frame, ink }: Pen, { name, purpose, band_mhz }: Lane): void {
  const left = Math.max(frame.left, xOf(frame, band_mhz[0] ?? 0));
  const right = Math.min(frame.right, xOf(frame, band_mhz[1] ?? 0));
  if (right <= left) return;
  ctx.save();
  ctx.fillStyle = ink.raised;
  ctx.fillRect(left, 0, right - left, frame.bottom);
  ctx.beginPath();
  ctx.rect(left, 0, right - left, frame.bottom);
  ctx.clip();
  ctx.strokeStyle = ink.edge;
  ctx.lineWidth = 1;
  ctx.beginPath();
  if (purpose === 'closed') {
    // Hatched from the names down, on lines that hold still while it is moved.
    for (let x = left - frame.bottom; x < right; x += 9) {
      ctx.moveTo(x, frame.bottom);
      ctx.lineTo(x + frame.bottom, 0);
    }
  } else if (purpose === 'transmit') {
    for (let y = frame.top + 6; y < frame.bottom; y += 12) {
      ctx.moveTo(left, y);
      ctx.lineTo(right, y);
    }
    ctx.setLineDash([2, 8]);
  }
  ctx.stroke();
  ctx.setLineDash([]);
  if (purpose === 'closed') {
    ctx.fillStyle = ink.raised;
    ctx.fillRect(left, 0, right - left, frame.top - 2);
  }
  ctx.fillStyle = ink['edge-strong'];
  ctx.fillRect(left, frame.top - 2, right - left, purpose === 'closed' ? 1 : 2);
  const room = right - left - 8;
  ctx.textBaseline = 'alphabetic';
  ctx.textAlign = 'left';
  ctx.fillStyle = ink.text;
  ctx.font = `600 ${frame.px}px ${ink.font}`;
  ctx.fillText(fitted(ctx, name, room), left + 4, frame.px * 1.25);
  ctx.fillStyle = ink.quiet;
  ctx.font = `${frame.px}px ${ink.font}`;
  const words = [purposes[purpose], short[purpose]].find((word) => widthOf(ctx, word) <= room);
  if (words) ctx.fillText(words, left + 4, frame.px * 2.55);
  ctx.restore();
}

// Nothing of the show is there, and nothing is to scale: a torn strip with what was left out.
function gap({ ctx, frame, ink }: Pen, { from, to }: Stretch): void {
  const left = Math.max(frame.left, xOf(frame, from));
  const right = Math.min(frame.right, xOf(frame, to));
  if (right <= left) return;
  ctx.fillStyle = ink.ground;
  ctx.fillRect(left, 0, right - left, frame.bottom);
  ctx.strokeStyle = ink['edge-strong'];
  ctx.lineWidth = 1;
  for (const x of [left + 0.5, right - 0.5]) {
    ctx.beginPath();
    for (let y = 0; y <= frame.bottom; y += 8) ctx.lineTo(x + ((y / 8) % 2 === 0 ? -2 : 2), y);
    ctx.stroke();
  }
  const words = `${Math.round(to - from)} MHz`;
  ctx.font = `${frame.px}px ${ink.font}`;
  ctx.fillStyle = ink.quiet;
  ctx.save();
  ctx.translate((left + right) / 2, (frame.top + frame.bottom) / 2);
  if (widthOf(ctx, words) > right - left - 6) ctx.rotate(-Math.PI / 2);
  ctx.textAlign = 'center';
  ctx.textBaseline = 'middle';
  ctx.fillText(words, 0, 0);
  ctx.restore();
}

function scales({ ctx, frame, ink }: Pen): void {
  const steps = frame.bottom - frame.top < 260 ? 20 : 10;
  ctx.font = `${frame.px}px ${ink.font}`;
  ctx.lineWidth = 1;
  for (let db = Math.ceil(gains[0] / steps) * steps; db <= gains[1]; db += steps) {
    const y = Math.round(yOf(frame, db)) + 0.5;
    ctx.strokeStyle = db === 0 ? ink['edge-strong'] : ink.edge;
    ctx.globalAlpha = db === 0 ? 1 : 0.6;
    lines(ctx, [[frame.left, y, frame.right, y]]);
    ctx.globalAlpha = 1;
    if (db % 20 !== 0) continue;
    ctx.fillStyle = ink.quiet;
    ctx.textBaseline = 'middle';
    ctx.textAlign = 'right';
    ctx.fillText(String(db).replace('-', '−'), frame.left - 6, y);
    ctx.textAlign = 'left';
    // Where carriers are, not above.
    if (db < 0) ctx.fillText(String(db + frame.dbm_at_zero).replace('-', '−'), frame.right + 6, y);
  }
  ctx.textBaseline = 'top';
  ctx.textAlign = 'right';
  ctx.fillStyle = ink.quiet;
  ctx.fillText('dB', frame.left - 6, frame.top + 1);
  ctx.textAlign = 'left';
  ctx.fillText('dBm', frame.right + 6, yOf(frame, -10) - frame.px / 2);
  ctx.textAlign = 'center';
  for (const mhz of marks(frame, (frame.right - frame.left) / (frame.px * 6.5))) {
    const x = Math.round(xOf(frame, mhz)) + 0.5;
    ctx.strokeStyle = ink['edge-strong'];
    lines(ctx, [[x, frame.bottom, x, frame.bottom + 5]]);
    const text = megahertzShort(mhz);
    const half = widthOf(ctx, text) / 2;
    if (x - half > 0 && x + half < frame.width - frame.px * 2.8)
      ctx.fillText(text, x, frame.bottom + 8);
  }
  ctx.textAlign = 'right';
  ctx.fillText('MHz', frame.width - 2, frame.bottom + 8);
  ctx.strokeStyle = ink['edge-strong'];
  ctx.strokeRect(
    frame.left - 0.5,
    frame.top - 0.5,
    frame.right - frame.left + 1,
    frame.bottom - frame.top + 1,
  );
}

export function traced({ ctx, frame }: Pen, { frequency_mhz, gain_db }: Curve): void {
  ctx.beginPath();
  // While it is moved a curve may end within the span of the show: it goes on as it ends.
  ctx.moveTo(frame.left, yOf(frame, gain_db[0] ?? 0));
  for (let i = 0; i < frequency_mhz.length; ++i)
    ctx.lineTo(xOf(frame, frequency_mhz[i]!), yOf(frame, gain_db[i]!));
  if (xOf(frame, frequency_mhz[frequency_mhz.length - 1]!) < frame.right)
    ctx.lineTo(frame.right, yOf(frame, gain_db[gain_db.length - 1]!));
}

export function clipped({ ctx, frame }: Pen): void {
  ctx.beginPath();
  ctx.rect(frame.left, frame.top, frame.right - frame.left, frame.bottom - frame.top);
  ctx.clip();
}

// Receive: a stem with a ring. Transmit: two stems and a wedge that points out.
export function head({ ctx }: Pen, use: Carrier['use'], x: number, y: number): void {
  const size = 4;
  ctx.beginPath();
  if (use === 'receive') {
    ctx.arc(x, y, size, 0, 2 * Math.PI);
  } else {
    ctx.moveTo(x, y - size - 2);
    ctx.lineTo(x + size + 1.5, y + size);
    ctx.lineTo(x - size - 1.5, y + size);
    ctx.closePath();
  }
}

export const inSight = (frame: Frame, { frequency_mhz, bandwidth_khz }: Carrier): boolean =>
  xOf(frame, frequency_mhz + bandwidth_khz / 2000) >= frame.left &&
  xOf(frame, frequency_mhz - bandwidth_khz / 2000) <= frame.right;

// Where the level is not known the mark stands on the floor.
export const levelY = (frame: Frame, carrier: Carrier, node: string): number => {
  const level = carrier.at_nodes[node];
  return level === undefined ? frame.bottom - 10 : yOfLevel(frame, level);
};

function carrier(pen: Pen, painted: Carrier, node: string): void {
  const { ctx, frame, ink } = pen;
  const { use, frequency_mhz } = painted;
  const x = xOf(frame, frequency_mhz);
  const y = levelY(frame, painted, node);
  ctx.strokeStyle = ink['edge-strong'];
  ctx.lineWidth = 1;
  const stems = use === 'receive' ? [x] : [x - 1.5, x + 1.5];
  lines(
    ctx,
    stems.map((stem) => [stem, frame.bottom, stem, y]),
  );
  head(pen, use, x, y);
  ctx.fillStyle = ink.surface;
  ctx.fill();
  ctx.strokeStyle = ink.quiet;
  ctx.stroke();
}

// `selected` has its curve in front, and carriers stand as they come to it.
export function paintGround(
  pen: Pen,
  spectrum: Spectrum,
  curves: readonly Candidate[],
  selected: string,
): void {
  const { ctx, frame, ink } = pen;
  ctx.fillStyle = ink.surface;
  ctx.fillRect(0, 0, frame.width, frame.height);
  for (const painted of spectrum.lanes) lane(pen, painted);
  scales(pen);
  for (const stretch of frame.axis.stretches) if (stretch.gap) gap(pen, stretch);
  ctx.save();
  clipped(pen);
  ctx.strokeStyle = ink['edge-strong'];
  ctx.lineWidth = 1;
  ctx.globalAlpha = curves.length > 16 ? 0.45 : 0.8;
  for (const { node, curve } of curves) {
    if (node === selected || curve.frequency_mhz.length === 0) continue;
    traced(pen, curve);
    ctx.stroke();
  }
  ctx.globalAlpha = 1;
  for (const painted of spectrum.carriers)
    if (inSight(frame, painted)) carrier(pen, painted, selected);
  ctx.restore();
}
