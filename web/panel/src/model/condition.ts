// SPDX-License-Identifier: Apache-2.0
// What is wrong with a node, in words, worst first.
import type { Node } from '../api/types';
import { keptFor } from './kept';

// fault: it does not do what the show needs. caution: somebody has to look. moving: something is
// under way. calm: as wanted.
export type Level = 'fault' | 'caution' | 'moving' | 'calm';
const order: readonly Level[] = ['fault', 'caution', 'moving', 'calm'];

export interface Trouble {
  level: Level;
  word: string;
  // What it means, or what to do; for the node's own view.
  sentence?: string;
}

const staleAfterMs = 5000;

export function ageOf(node: Node & { heard: number }, now: number): number | null {
  return node.seen ? node.seen.age_ms + Math.max(0, now - node.heard) : null;
}

export const isOld = (node: Node, ageMs: number | null): boolean =>
  ageMs === null ||
  node.seen?.quality === 'stale' ||
  node.link !== 'answering' ||
  ageMs > 3 * staleAfterMs;

export const withoutSupply = (node: Node): boolean =>
  node.seen !== undefined && !node.seen.telemetry.powered;

export const troubles = keptFor((node: Node): readonly Trouble[] => {
  const found: Trouble[] = [];
  const add = (level: Level, word: string, sentence?: string): void =>
    void found.push(sentence ? { level, word, sentence } : { level, word });

  if (node.link === 'silent')
    add(
      'fault',
      'silent',
      'It does not answer. It keeps its last settings: what stands here is the last that was read.',
    );
  if (node.link === 'line-down')
    add('fault', 'line down', `The line ${node.line} is down, so nobody knows.`);
  if (withoutSupply(node))
    add(
      'fault',
      'no supply: passive',
      'Its supply is gone. It still passes RF, without gain and without filter.',
    );
  const refused = node.findings.filter((finding) => finding.severity === 'refuse');
  if (refused.length > 0) add('fault', 'off plan', refused[0]?.sentence);
  if (node.reported_type !== undefined && node.reported_type !== node.type)
    add(
      'caution',
      'wrong type',
      `It says that it is a ${node.reported_type}; the rack file says ${node.type}.`,
    );
  // A knob, or a node that came back with other settings than it had.
  if (node.agreement === 'drifted')
    add('caution', node.seen?.telemetry.locally_changed ? 'changed by hand' : 'not as wanted');
  if (node.link === 'unknown') add('caution', 'not read yet');
  if (node.link === 'answering' && node.seen?.quality === 'stale') add('caution', 'old reading');
  const cautions = node.findings.filter((finding) => finding.severity === 'caution');
  if (cautions.length > 0)
    add(
      'caution',
      cautions.length === 1 ? '1 caution' : `${cautions.length} cautions`,
      cautions[0]?.sentence,
    );
  if (node.agreement === 'changing')
    add('moving', node.change ? stageWord(node.change.stage) : 'changing');
  if (found.length === 0)
    add(
      'calm',
      node.agreement === 'not-ours'
        ? 'another controller’s'
        : node.seen?.passive
          ? 'power off, as wanted'
          : node.seen
            ? 'as wanted'
            : 'nothing known',
    );
  return found.sort((a, b) => order.indexOf(a.level) - order.indexOf(b.level));
});

// Everything of a node that a line in a list shows; equal for readings that differ in figures of its
// supply and in age only.
export const lookOf = keptFor((node: Node): string =>
  JSON.stringify([
    troubles(node),
    node.wanted,
    node.seen?.settings,
    node.seen?.passband_mhz,
    node.seen?.passive,
    node.serves,
    withoutSupply(node),
  ]),
);

export function levelOf(node: Node): Level {
  return troubles(node)[0]?.level ?? 'calm';
}

export const worstFirst = (a: Node, b: Node): number =>
  order.indexOf(levelOf(a)) - order.indexOf(levelOf(b)) || byName(a, b);

// pontoon-2 before pontoon-10.
const names = new Intl.Collator('en', { numeric: true });
export const byName = (a: { name: string }, b: { name: string }): number =>
  names.compare(a.name, b.name);

const stageWords: Record<string, string> = {
  recording: 'recording',
  staging: 'sending',
  applying: 'putting in force',
  'reading-back': 'reading back',
  settled: 'read back: as wanted',
  failed: 'failed',
  unreachable: 'not reached',
  interrupted: 'interrupted',
};
export const stageWord = (stage: string): string => stageWords[stage] ?? stage;
export const changeStages: readonly string[] = [
  'recording',
  'staging',
  'applying',
  'reading-back',
  'settled',
];
