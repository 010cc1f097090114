// SPDX-License-Identifier: Apache-2.0
// Alarms as the daemon lists them, the most urgent first, in groups by their state.
import type { Alarm, Node } from '../api/types';
import { keptFor } from './kept';

export type AlarmState = Alarm['state'];

export const stateTitles: Record<AlarmState, string> = {
  active: 'Active, not acknowledged',
  returned: 'Returned, not acknowledged',
  acknowledged: 'Active, acknowledged',
  shelved: 'Shelved',
};
const stateOrder: readonly AlarmState[] = ['active', 'returned', 'acknowledged', 'shelved'];

const heads = keptFor((alarms: readonly Alarm[]): readonly Alarm[] =>
  alarms.filter(({ under }) => under === undefined),
);
export const followersOf = (alarm: Alarm, alarms: readonly Alarm[]): readonly Alarm[] =>
  alarms.filter(({ under }) => under === alarm.id);

export const byState = (alarms: readonly Alarm[]): { state: AlarmState; alarms: Alarm[] }[] =>
  stateOrder
    .map((state) => ({ state, alarms: heads(alarms).filter((alarm) => alarm.state === state) }))
    .filter((group) => group.alarms.length > 0);

export const isCalling = ({ state }: Alarm): boolean => state === 'active';

const callingBySubject = keptFor((alarms: readonly Alarm[]): ReadonlyMap<string, Alarm[]> => {
  const found = new Map<string, Alarm[]>();
  for (const alarm of alarms.filter(isCalling))
    found.set(alarm.subject, [...(found.get(alarm.subject) ?? []), alarm]);
  return found;
});

// Alarms of a node that its conditions do not tell, in words: a change that failed, another
// controller.
export function onlyInAlarms(
  { name, conditions }: Pick<Node, 'name' | 'conditions'>,
  alarms: readonly Alarm[],
): string {
  const told = new Set(conditions.map(({ kind }) => kind));
  const others = (callingBySubject(alarms).get(name) ?? []).filter(({ kind }) => !told.has(kind));
  return [...new Set(others.map(({ word }) => word))].join(', ');
}

export interface AlarmCount {
  active: number;
  unacknowledged: number;
  shelved: number;
}

export function count(alarms: readonly Alarm[]): AlarmCount {
  const of = (...states: AlarmState[]): number =>
    heads(alarms).filter(({ state }) => states.includes(state)).length;
  return {
    active: of('active', 'acknowledged'),
    unacknowledged: of('active', 'returned'),
    shelved: of('shelved'),
  };
}

// Those that were not there before and call for somebody.
export function newlyCalling(before: readonly Alarm[], after: readonly Alarm[]): Alarm[] {
  const known = new Set(before.filter(isCalling).map(({ id }) => id));
  return after.filter((alarm) => isCalling(alarm) && !known.has(alarm.id));
}
