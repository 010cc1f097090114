// SPDX-License-Identifier: Apache-2.0
// Colours of the theme for a canvas, and a canvas that is as sharp as the screen.

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
export function inkOf(element: Element): Ink {
  const style = getComputedStyle(element);
  const ink = Object.fromEntries(
    names.map((name) => [name, style.getPropertyValue(`--${name}`).trim()]),
  );
  return { ...ink, font: style.fontFamily } as Ink;
}

// Clear, and in CSS px.
export function fresh(
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
