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

// The clock of the show, by its IANA name: all times on the page are told by it.
let zone = 'UTC';
let clock = clockIn(zone);
export function clockIn(name: string): Intl.DateTimeFormat {
  return new Intl.DateTimeFormat('en-GB', {
    timeZone: name,
    year: 'numeric',
    month: '2-digit',
    day: '2-digit',
    hour: '2-digit',
    minute: '2-digit',
    second: '2-digit',
    hourCycle: 'h23',
  });
}

export function tellTimesIn(name: string): void {
  if (name === zone) return;
  try {
    clock = clockIn(name);
    zone = name;
  } catch {
    // A browser that does not know the zone keeps telling them in UTC, and says so.
    clock = clockIn('UTC');
    zone = 'UTC';
  }
}
export const zoneOfTimes = (): string => zone;

type When = string | number | Date;

function partsOf(when: When, on: Intl.DateTimeFormat): Record<string, string> {
  return Object.fromEntries(
    on.formatToParts(new Date(when)).map(({ type, value }) => [type, value]),
  );
}

// HH:MM:SS
export function timeOfDay(when: When, on = clock): string {
  const { hour, minute, second } = partsOf(when, on);
  return `${hour}:${minute}:${second}`;
}

// YYYY-MM-DD
export function dayOf(when: When, on = clock): string {
  const { year, month, day } = partsOf(when, on);
  return `${year}-${month}-${day}`;
}

export const dateAndTime = (when: When): string =>
  `${dayOf(when)} ${timeOfDay(when)}`;

// Today's times need no date.
export function shortWhen(when: When, now: Date): string {
  return dayOf(when) === dayOf(now) ? timeOfDay(when) : dateAndTime(when);
}

export const plural = (count: number, one: string, many = `${one}s`): string =>
  `${count} ${count === 1 ? one : many}`;

export const list = (words: readonly string[]): string =>
  words.length < 2
    ? (words[0] ?? '')
    : `${words.slice(0, -1).join(', ')} and ${words[words.length - 1]}`;

const letters = 'ABCDEFGH';
export const branchLetter = (branch: number): string => letters[branch - 1] ?? String(branch);
