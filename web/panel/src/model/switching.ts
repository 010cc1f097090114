// SPDX-License-Identifier: Apache-2.0
// A switch and its cues in words.
import type { Armed, Cue, Preview, Switch, SwitchedNode } from '../api/types';
import type { Level } from './condition';

const stages: Record<Switch['stage'], string> = {
  planning: 'finding a way',
  recording: 'recording',
  staging: 'sending settings',
  applying: 'putting in force',
  'reading-back': 'reading back',
  interrupted: 'interrupted',
  done: 'done',
  'rolled-back': 'rolled back',
  stuck: 'stuck',
};
export const stageOfSwitch = (stage: Switch['stage']): string => stages[stage];

export function switchWord(now: Switch): string {
  if (now.stage === 'stuck') return `Stuck on the way to ${now.to}`;
  if (now.ended) return `${now.restores ? 'Brought back' : now.to}: ${stages[now.stage]}`;
  const there = now.restores ? 'Back to what is wanted' : `To ${now.to}`;
  const way = now.back ? `Back to ${now.from}` : there;
  const step = now.step > 0 ? `, step ${now.step} of ${now.steps}` : '';
  return `${way}${step}: ${stages[now.stage]}`;
}

// Nodes that somebody has to look at when a switch is over.
export const leftSomewhere = (now: Switch): SwitchedNode[] =>
  now.nodes.filter(({ what_to_do }) => what_to_do !== undefined);

export function triggerWords({ trigger }: Cue): string {
  switch (trigger.by) {
    case 'hand':
      return 'by hand';
    case 'clock':
      return `by the clock at ${trigger.at}${trigger.date ? ` on ${trigger.date}` : ' every day'}`;
    case 'duration':
      return `${secondsInWords(trigger.seconds ?? 0)} after ${trigger.after}`;
    case 'message':
      return `by the message “${trigger.text}”`;
  }
}

export function secondsInWords(seconds: number): string {
  if (seconds < 60) return `${seconds} s`;
  const minutes = Math.floor(seconds / 60);
  const rest = seconds % 60;
  return rest ? `${minutes} min ${rest} s` : `${minutes} min`;
}

export interface Outlook {
  level: Level;
  word: string;
}
// Whether what is armed would go, as far as is known.
export const isReady = (armed: Armed): boolean => (armed.would_be ?? 'done') === 'done';

export function outlookOf(preview: Pick<Preview, 'would_be'>): Outlook {
  switch (preview.would_be) {
    case 'done':
      return { level: 'calm', word: 'It can go' };
    case 'needs-waiver':
      return { level: 'caution', word: 'It can go if a named person waives the cautions' };
    case 'refused':
      return { level: 'fault', word: 'It would be refused' };
    case 'unreachable':
      return { level: 'fault', word: 'Not all nodes can be reached' };
    case 'busy':
      return { level: 'moving', word: 'Something else is under way' };
  }
}
