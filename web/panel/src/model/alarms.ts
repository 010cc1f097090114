// SPDX-License-Identifier: Apache-2.0
// The states of an alarm after IEC 62682 and ISA-18.2: unacknowledged active, acknowledged active,
// unacknowledged returned, shelved. What has returned and is acknowledged is gone.
import type { Alarm } from '../api/types';

export type AlarmState = 'active' | 'returned' | 'acknowledged' | 'shelved';

export function stateOf(alarm: Alarm): AlarmState {
  if (alarm.shelved) return 'shelved';
  if (alarm.active) return alarm.acknowledged ? 'acknowledged' : 'active';
  return 'returned';
}

export const stateTitles: Record<AlarmState, string> = {
  active: 'Active, not acknowledged',
  returned: 'Returned, not acknowledged',
  acknowledged: 'Active, acknowledged',
  shelved: 'Shelved',
};
export const stateOrder: readonly AlarmState[] = ['active', 'returned', 'acknowledged', 'shelved'];

const kindWords: Record<string, string> = {
  drifted: 'not as wanted',
  silent: 'silent',
  passive: 'no supply',
  'line-down': 'line down',
  'other-controller': 'another controller',
  'wrong-type': 'wrong type',
  'change-failed': 'change failed',
  'off-plan': 'off plan',
  'journal-failed': 'journal not written',
  'switch-failed': 'switch failed',
  'trigger-held': 'trigger held',
  'epoch-out-of-reach': 'epoch out of reach',
  babbling: 'babbling',
  certificate: 'certificate',
  'journal-broken': 'journal broken',
};
export const kindWord = (kind: string): string => kindWords[kind] ?? kind.replace(/-/g, ' ');

export function byState(alarms: readonly Alarm[]): { state: AlarmState; alarms: Alarm[] }[] {
  return stateOrder
    .map((state) => ({
      state,
      alarms: alarms
        .filter((alarm) => stateOf(alarm) === state)
        .sort((a, b) => Date.parse(b.raised_at) - Date.parse(a.raised_at) || b.id - a.id),
    }))
    .filter((group) => group.alarms.length > 0);
}

// Alarms of a node that its own state does not show: a change that failed, another controller.
const shownByState = ['drifted', 'silent', 'passive', 'line-down', 'wrong-type', 'off-plan'];
export const onlyInAlarms = (node: string, alarms: readonly Alarm[]): string[] => [
  ...new Set(
    alarms
      .filter(
        (alarm) =>
          alarm.subject === node &&
          stateOf(alarm) === 'active' &&
          !shownByState.includes(alarm.kind),
      )
      .map((alarm) => kindWord(alarm.kind)),
  ),
];

export interface AlarmCount {
  active: number;
  unacknowledged: number;
  shelved: number;
}

export function count(alarms: readonly Alarm[]): AlarmCount {
  const states = alarms.map(stateOf);
  return {
    active: states.filter((state) => state === 'active' || state === 'acknowledged').length,
    unacknowledged: states.filter((state) => state === 'active' || state === 'returned').length,
    shelved: states.filter((state) => state === 'shelved').length,
  };
}

// Those that were not there before and call for somebody.
export function newlyCalling(before: readonly Alarm[], after: readonly Alarm[]): Alarm[] {
  const known = new Set(
    before.filter((alarm) => stateOf(alarm) === 'active').map((alarm) => alarm.id),
  );
  return after.filter((alarm) => stateOf(alarm) === 'active' && !known.has(alarm.id));
}
