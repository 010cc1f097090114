// SPDX-License-Identifier: Apache-2.0
// Numbers and times as they stand on the page. A minus is a minus sign, so that columns line up.
const minus = (text: string): string => text.replace('-', '−');

// 0.01 dB is the finest step there is; trailing zeros beyond one place say nothing.
export function decibels(value: number): string {
  const two = value.toFixed(2);
  return minus(two.endsWith('0') ? two.slice(0, -1) : two);
}

// Computed levels: hundredths would claim more than anybody knows.
export const tenths = (value: number): string => minus(value.toFixed(1).replace(/^-0\.0$/, '0.0'));
export const signedTenths = (value: number): string =>
  value > 0 ? `+${tenths(value)}` : tenths(value);

export const signedDecibels = (value: number): string =>
  value > 0 ? `+${decibels(value)}` : decibels(value);

// Three places at least; the last ones only where they say something.
export function megahertz(value: number): string {
  const six = value.toFixed(6);
  return six.endsWith('000') ? six.slice(0, -3) : six;
}

// For narrow places: no more places than needed.
export const megahertzShort = (value: number): string => String(Number(value.toFixed(3)));

export const band = ([low, high]: readonly [number, number] | readonly number[]): string =>
  `${megahertzShort(low ?? 0)} – ${megahertzShort(high ?? 0)} MHz`;

export function duration(ms: number): string {
  const s = Math.max(0, ms) / 1000;
  if (s < 10) return `${s.toFixed(1)} s`;
  if (s < 120) return `${Math.round(s)} s`;
  if (s < 7200) return `${Math.round(s / 60)} min`;
  if (s < 172800) return `${Math.round(s / 3600)} h`;
  return `${Math.round(s / 86400)} d`;
}

// 14:05, with tabular figures it never changes its width.
export function countdown(ms: number): string {
  const s = Math.max(0, Math.ceil(ms / 1000));
  const two = (n: number): string => String(n).padStart(2, '0');
  const hours = Math.floor(s / 3600);
  return hours > 0
    ? `${hours}:${two(Math.floor(s / 60) % 60)}:${two(s % 60)}`
    : `${two(Math.floor(s / 60))}:${two(s % 60)}`;
}

// Whose clock the times below are on, by its IANA name.
export const browserZone = (): string => Intl.DateTimeFormat().resolvedOptions().timeZone || 'UTC';

const pad = (n: number): string => String(n).padStart(2, '0');

export function timeOfDay(when: string | number | Date): string {
  const date = new Date(when);
  return `${pad(date.getHours())}:${pad(date.getMinutes())}:${pad(date.getSeconds())}`;
}

export function dateAndTime(when: string | number | Date): string {
  const date = new Date(when);
  return `${date.getFullYear()}-${pad(date.getMonth() + 1)}-${pad(date.getDate())} ${timeOfDay(date)}`;
}

// Today's times need no date.
export function shortWhen(when: string | number | Date, now: Date): string {
  const date = new Date(when);
  return date.toDateString() === now.toDateString() ? timeOfDay(date) : dateAndTime(date);
}

export const plural = (count: number, one: string, many = `${one}s`): string =>
  `${count} ${count === 1 ? one : many}`;

export const list = (words: readonly string[]): string =>
  words.length < 2
    ? (words[0] ?? '')
    : `${words.slice(0, -1).join(', ')} and ${words[words.length - 1]}`;

const letters = 'ABCDEFGH';
export const branchLetter = (branch: number): string => letters[branch - 1] ?? String(branch);
