// SPDX-License-Identifier: Apache-2.0
// Settings of a matrix compared, put together and said in words.
import type { MatrixPatch, MatrixSettings, Table } from '../api/matrix';
import { decibels } from './format';
import { plainNames, volts, type Names } from './matrix';
import type { Difference } from './settings';

const tables = ['routes', 'trims_db', 'supplies_mv', 'labels'] as const;
type Member = (typeof tables)[number];
type Value = string | number | readonly number[];

const tableOf = (settings: MatrixSettings | undefined, member: Member): Table<Value> =>
  settings?.[member] ?? {};
const same = (a: Value | undefined, b: Value | undefined): boolean =>
  JSON.stringify(a) === JSON.stringify(b);

// Where two tables differ, by the numbers of inputs or outputs.
function placesOf(before: Table<Value>, after: Table<Value>): number[] {
  const places = new Set([...Object.keys(before), ...Object.keys(after)]);
  return [...places]
    .filter((place) => !same(before[place], after[place]))
    .map(Number)
    .sort((a, b) => a - b);
}

const titles: Record<Member, (place: number, names: Names) => string> = {
  routes: (output, names) => names.output(output),
  trims_db: (input, names) => `trim of ${names.input(input)}`,
  supplies_mv: (input, names) => `supply of ${names.input(input)}`,
  labels: (input, names) => `label of ${names.input(input)}`,
};

function say(member: Member, value: Value | undefined, names: Names): string {
  if (value === undefined) return 'none';
  if (member === 'routes')
    return (value as readonly number[]).map(names.input).join(' + ') || 'nothing';
  if (member === 'trims_db') return `${decibels(value as number)} dB`;
  if (member === 'supplies_mv') return volts(value as number);
  return String(value) || 'none';
}

export function differences(
  before: MatrixSettings | undefined,
  after: MatrixSettings | undefined,
  names: Names = plainNames,
): Difference[] {
  const found: Difference[] = [];
  for (const member of tables) {
    const [was, is] = [tableOf(before, member), tableOf(after, member)];
    for (const place of placesOf(was, is))
      found.push({
        member: `${member}/${place}`,
        title: titles[member](place, names),
        before: say(member, was[place], names),
        after: say(member, is[place], names),
      });
  }
  if (before?.label !== after?.label)
    found.push({
      member: 'label',
      title: 'label of the unit',
      before: before?.label || 'none',
      after: after?.label || 'none',
    });
  return found;
}

// Only what is really otherwise.
export function patchOf(base: MatrixSettings, draft: MatrixSettings): MatrixPatch {
  const patch: Record<string, unknown> = {};
  for (const member of tables) {
    const [was, is] = [tableOf(base, member), tableOf(draft, member)];
    const places = placesOf(was, is).filter((place) => is[place] !== undefined);
    if (places.length > 0)
      patch[member] = Object.fromEntries(places.map((place) => [place, is[place]]));
  }
  if (draft.label !== base.label) patch['label'] = draft.label;
  return patch as MatrixPatch;
}

// A patch put onto settings, table by table.
export function onto(newer: MatrixSettings, patch: MatrixPatch): MatrixSettings {
  const merged: Record<string, unknown> = { label: patch.label ?? newer.label };
  for (const member of tables) {
    const table = { ...tableOf(newer, member), ...patch[member] };
    if (newer[member] || patch[member]) merged[member] = table;
  }
  return merged as unknown as MatrixSettings;
}

const isTable = (told: unknown, isValue: (value: unknown) => boolean): boolean =>
  typeof told === 'object' && told !== null && Object.values(told).every(isValue);
const isNumber = (value: unknown): boolean => typeof value === 'number';

// Of a page before this one, which may have been older.
export function isSettings(told: unknown): told is MatrixSettings {
  if (typeof told !== 'object' || told === null) return false;
  const { label, routes, labels, trims_db, supplies_mv } = told as Partial<MatrixSettings>;
  return (
    typeof label === 'string' &&
    isTable(routes, (taken) => Array.isArray(taken) && taken.every(isNumber)) &&
    isTable(labels, (value) => typeof value === 'string') &&
    (trims_db === undefined || isTable(trims_db, isNumber)) &&
    (supplies_mv === undefined || isTable(supplies_mv, isNumber))
  );
}
