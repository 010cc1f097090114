// SPDX-License-Identifier: Apache-2.0
// Settings compared and said in words.
import type { Settings, SettingsPatch } from '../api/types';
import { decibels, megahertz } from './format';

export type Draft = SettingsPatch;
const members = ['gain_db', 'filter', 'centre_mhz', 'power', 'label'] as const;
type Member = (typeof members)[number];
const titles: Record<Member, string> = {
  gain_db: 'gain',
  filter: 'filter',
  centre_mhz: 'centre',
  power: 'power',
  label: 'label',
};

export function say(member: Member, value: string | number | boolean | undefined): string {
  if (value === undefined) return 'none';
  if (member === 'gain_db') return `${decibels(value as number)} dB`;
  if (member === 'centre_mhz') return `${megahertz(value as number)} MHz`;
  if (member === 'power') return value ? 'on' : 'off: passive';
  return String(value) || 'none';
}

export interface Difference {
  // Equal for the same setting.
  member: string;
  title: string;
  before: string;
  after: string;
}

export function differences(
  before: Settings | undefined,
  after: Settings | undefined,
): Difference[] {
  return members
    .filter((member) => before?.[member] !== after?.[member])
    .map((member) => ({
      member,
      title: titles[member],
      before: say(member, before?.[member]),
      after: say(member, after?.[member]),
    }));
}

export const inWords = (found: readonly Difference[]): string =>
  found
    .map(({ title, before: was, after: is }) => `${title} ${was} → ${is}`)
    .join(', ');

// Only what is really otherwise: a member set back to what it was is no change of it.
export function patchOf(base: Settings, draft: Settings): Draft {
  const patch: Record<string, string | number | boolean> = {};
  for (const member of members) {
    const value = draft[member];
    if (value !== undefined && value !== base[member]) patch[member] = value;
  }
  return patch as Draft;
}

// A patch made on older settings, put onto newer ones: what the person touched stays theirs.
export const onto = (newer: Settings, patch: Draft): Settings => {
  const merged = { ...newer, ...patch } as Settings & {
    why?: string;
    waiver?: unknown;
    revision?: number;
  };
  delete merged.why;
  delete merged.waiver;
  delete merged.revision;
  return merged;
};

// The nearest value that the steps allow; steps count from the lowest.
export function snap(
  value: number,
  { lowest, highest, step }: { lowest: number; highest: number; step: number },
): number {
  const within = Math.min(highest, Math.max(lowest, value));
  if (!(step > 0)) return within;
  const snapped = lowest + Math.round((within - lowest) / step) * step;
  // 0.1 + 0.2: nothing is finer than a hertz, and gains are coarser.
  return Number(Math.min(highest, snapped).toFixed(6));
}

// Of a page before this one, which may have been older.
export function isSettings(told: unknown): told is Settings {
  if (typeof told !== 'object' || told === null) return false;
  const { gain_db, filter, centre_mhz, power, label } = told as Partial<Settings>;
  return (
    typeof gain_db === 'number' &&
    typeof filter === 'string' &&
    ['undefined', 'number'].includes(typeof centre_mhz) &&
    typeof power === 'boolean' &&
    typeof label === 'string'
  );
}
