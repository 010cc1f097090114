// SPDX-License-Identifier: Apache-2.0
// Colours of the theme for a canvas, and a canvas that is as sharp as the screen.
import type { Frame } from './scale';

const names = [
  'ground',
  'surface',
  'raised',
  'edge',
  'edge-strong',
  'text',
  'quiet',
  'fault',
  'caution',
  'passband',
] as const;
export type Ink = Record<(typeof names)[number], string> & { font: string };

// From the element itself: where the feed is lost its colours are others than those of the page.
function inkOf(element: Element): Ink {
  const style = getComputedStyle(element);
  const ink = Object.fromEntries(
    names.map((name) => [name, style.getPropertyValue(`--${name}`).trim()]),
  );
  return { ...ink, font: style.fontFamily } as Ink;
}

// Clear, and in CSS px.
function fresh(
  canvas: HTMLCanvasElement,
  width: number,
  height: number,
): CanvasRenderingContext2D | null {
  const ratio = devicePixelRatio || 1;
  const w = Math.round(width * ratio);
  const h = Math.round(height * ratio);
  if (canvas.width !== w || canvas.height !== h) {
    canvas.width = w;
    canvas.height = h;
  }
  const ink = canvas.getContext('2d');
  if (!ink) return null;
  ink.setTransform(ratio, 0, 0, ratio, 0, 0);
  ink.clearRect(0, 0, width, height);
  return ink;
}

// Whatever is painted is painted by one.
export interface Pen {
  ctx: CanvasRenderingContext2D;
  frame: Frame;
  ink: Ink;
}

// The canvas is clear then; null: there is nothing to paint on.
export function penFor(canvas: HTMLCanvasElement | null, frame: Frame | null): Pen | null {
  const ctx = canvas && frame && fresh(canvas, frame.width, frame.height);
  return ctx && { ctx, frame, ink: inkOf(canvas) };
}

// Straight lines, each from where to where, as one path.
export function lines(
  ctx: CanvasRenderingContext2D,
  each: readonly (readonly [number, number, number, number])[],
): void {
  ctx.beginPath();
  for (const [x, y, toX, toY] of each) {
    ctx.moveTo(x, y);
    ctx.lineTo(toX, toY);
  }
  ctx.stroke();
}

const widths = new Map<string, number>();

export function widthOf(ink: CanvasRenderingContext2D, text: string): number {
  const key = `${ink.font}\n${text}`;
  const known = widths.get(key);
  if (known !== undefined) return known;
  if (widths.size > 4000) widths.clear();
  const { width } = ink.measureText(text);
  widths.set(key, width);
  return width;
}

// As much of the text as there is room for; nothing rather than a letter or two.
export function fitted(ink: CanvasRenderingContext2D, text: string, room: number): string {
  if (widthOf(ink, text) <= room) return text;
  for (let length = text.length - 1; length >= 3; --length) {
    const cut = `${text.slice(0, length).trimEnd()}…`;
    if (widthOf(ink, cut) <= room) return cut;
  }
  return '';
}
