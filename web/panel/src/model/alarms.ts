// SPDX-License-Identifier: Apache-2.0
// The states of an alarm after IEC 62682 and ISA-18.2: unacknowledged active, acknowledged active,
// unacknowledged returned, shelved. What has returned and is acknowledged is gone.
import type { Alarm } from '../api/types';
import { keptFor } from './kept';

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
const stateOrder: readonly AlarmState[] = ['active', 'returned', 'acknowledged', 'shelved'];

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
  'cue-blocked': 'armed cue blocked',
};
export const kindWord = (kind: string): string => kindWords[kind] ?? kind.replace(/-/g, ' ');

// Those that follow from another that is there stand under it: by the cause's number, in the order
// of the list. One that nobody has seen yet stands for itself where its cause was seen already.
interface Grouped {
  readonly heads: readonly Alarm[];
  readonly followers: ReadonlyMap<number, readonly Alarm[]>;
}
const grouped = keptFor((alarms: readonly Alarm[]): Grouped => {
  const byNumber = new Map(alarms.map((alarm) => [alarm.id, alarm]));
  const heads: Alarm[] = [];
  const followers = new Map<number, Alarm[]>();
  for (const alarm of alarms) {
    const cause = alarm.cause === undefined ? undefined : byNumber.get(alarm.cause);
    const seen = cause && (cause.acknowledged || cause.shelved !== undefined);
    if (!cause || (seen && !alarm.acknowledged)) heads.push(alarm);
    else followers.set(cause.id, [...(followers.get(cause.id) ?? []), alarm]);
  }
  return { heads, followers };
});
export const followersOf = (alarm: Alarm, alarms: readonly Alarm[]): readonly Alarm[] =>
  grouped(alarms).followers.get(alarm.id) ?? [];

export function byState(alarms: readonly Alarm[]): { state: AlarmState; alarms: Alarm[] }[] {
  return stateOrder
    .map((state) => ({
      state,
      alarms: grouped(alarms)
        .heads.filter((alarm) => stateOf(alarm) === state)
        .sort((a, b) => Date.parse(b.raised_at) - Date.parse(a.raised_at) || b.id - a.id),
    }))
    .filter((group) => group.alarms.length > 0);
}

// Alarms of nodes that their own state does not show, in words, by the node's name: a change that
// failed, another controller.
const shownByState = ['drifted', 'silent', 'passive', 'line-down', 'wrong-type', 'off-plan'];
export const onlyInAlarms = keptFor((alarms: readonly Alarm[]): ReadonlyMap<string, string> => {
  const words = new Map<string, Set<string>>();
  for (const alarm of alarms)
    if (stateOf(alarm) === 'active' && !shownByState.includes(alarm.kind))
      words.set(
        alarm.subject,
        (words.get(alarm.subject) ?? new Set<string>()).add(kindWord(alarm.kind)),
      );
  return new Map([...words].map(([subject, of]) => [subject, [...of].join(', ')]));
});

export interface AlarmCount {
  active: number;
  unacknowledged: number;
  shelved: number;
}

export function count(alarms: readonly Alarm[]): AlarmCount {
  const states = grouped(alarms).heads.map(stateOf);
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
