// SPDX-License-Identifier: Apache-2.0
// A matrix in words: what its inputs and outputs are called, who hears what, and how one cell of its
// table stands.
import type { Matrix, MatrixInput, MatrixOutput, MatrixSettings } from '../api/matrix';
import { branchLetter, list, plural } from './format';
import { keptFor } from './kept';

export const volts = (mv: number): string =>
  mv === 0 ? 'off' : `${Number((mv / 1000).toFixed(2))} V`;

// What is plugged in there: an antenna, or an output of another matrix.
export const pluggedIn = ({ antenna, from }: MatrixInput): string | undefined =>
  antenna ?? (from && `${from.matrix}, output ${from.output}`);
// Who is behind an output that no receiver has.
export const endsAt = ({ ends_at }: MatrixOutput): string | undefined =>
  ends_at && `${ends_at.matrix}, input ${ends_at.input}`;

export const inputName = (input: MatrixInput): string =>
  pluggedIn(input) ?? `input ${input.input}`;
export const outputName = ({ receiver, branch, ...output }: MatrixOutput): string =>
  receiver === undefined
    ? (endsAt(output) ?? `output ${output.output}`)
    : `${receiver}${branch === undefined ? '' : ` ${branchLetter(branch)}`}`;

export interface Names {
  input: (input: number) => string;
  output: (output: number) => string;
}
export const plainNames: Names = {
  input: (input) => `input ${input}`,
  output: (output) => `output ${output}`,
};
export const namesOf = keptFor((matrix: Matrix): Names => {
  const inputs = new Map(matrix.inputs.map((each) => [each.input, inputName(each)]));
  const outputs = new Map(matrix.outputs.map((each) => [each.output, outputName(each)]));
  return {
    input: (input) => inputs.get(input) ?? plainNames.input(input),
    output: (output) => outputs.get(output) ?? plainNames.output(output),
  };
});

export const takenBy = (settings: MatrixSettings | undefined, output: number): readonly number[] =>
  settings?.routes[output] ?? [];
export const outputsOf = (settings: MatrixSettings | undefined, input: number): number[] =>
  Object.keys(settings?.routes ?? {})
    .map(Number)
    .filter((output) => takenBy(settings, output).includes(input));

// What is in force as far as anybody knows; absent: it was never read, and nobody has set it.
export const inForce = ({ seen, wanted, set_by_hand }: Matrix): MatrixSettings | undefined =>
  seen?.settings ?? set_by_hand ?? wanted;

export const hearsWords = (matrix: Matrix, { output, hears }: MatrixOutput): string => {
  if (hears.length > 0) return `hears ${list(hears)}`;
  return takenBy(inForce(matrix), output).length > 0 ? 'hears no antenna' : 'hears nothing';
};

export function heardByWords(matrix: Matrix, input: number): string {
  const outputs = outputsOf(inForce(matrix), input).map(namesOf(matrix).output);
  return outputs.length > 0 ? `heard by ${list(outputs)}` : 'heard by nobody';
}

// What is in use by nothing, a few words each.
export function idle(matrix: Matrix): string[] {
  const settings = inForce(matrix);
  if (!settings) return ['never read'];
  const deaf = matrix.outputs.filter(({ receiver, hears }) => receiver && hears.length === 0);
  const unheard = matrix.inputs.filter(
    ({ input, antenna }) => antenna && outputsOf(settings, input).length === 0,
  );
  const branches = plural(deaf.length, 'receiver branch', 'receiver branches');
  return [
    ...(deaf.length > 0 ? [`${branches} ${deaf.length === 1 ? 'hears' : 'hear'} nothing`] : []),
    ...(unheard.length > 0 ? [`${plural(unheard.length, 'antenna')} heard by nobody`] : []),
  ];
}

export interface Stand {
  seen: MatrixSettings | undefined;
  wanted: MatrixSettings | undefined;
  draft: { base: MatrixSettings; settings: MatrixSettings } | undefined;
  // A change is on its way: what is not seen yet is coming.
  moving: boolean;
}

export type Passage =
  | 'none'
  | 'heard'
  | 'wanted' // and never read
  | 'added' // by an edit
  | 'dropped'
  | 'coming' // by a change under way
  | 'going'
  | 'missing' // wanted and not seen
  | 'strange'; // seen and not wanted

const has = (settings: MatrixSettings | undefined, output: number, input: number): boolean =>
  takenBy(settings, output).includes(input);

export function passageOf(stand: Stand, output: number, input: number): Passage {
  const { seen, wanted, draft, moving } = stand;
  const edited = draft && has(draft.settings, output, input);
  if (edited !== undefined && edited !== has(draft?.base, output, input))
    return edited ? 'added' : 'dropped';
  const is = has(seen, output, input);
  const should = has(wanted, output, input);
  if (!seen) return should ? 'wanted' : 'none';
  if (!wanted || is === should) return is ? 'heard' : 'none';
  if (moving) return should ? 'coming' : 'going';
  return should ? 'missing' : 'strange';
}

// What it says in its cell, where there is something to say.
export const passageWords: Record<Exclude<Passage, 'none'>, string> = {
  heard: 'heard',
  wanted: 'wanted',
  added: 'to add',
  dropped: 'to drop',
  coming: 'coming',
  going: 'going',
  missing: 'not there',
  strange: 'not wanted',
};
// Those through which something is, or would be, heard.
export const passes = (passage: Passage): boolean =>
  !['none', 'dropped', 'coming', 'missing'].includes(passage);

// Another route of an output: a unit that selects takes the new one in place of the old.
export function toggled(
  settings: MatrixSettings,
  { output, input, most }: { output: number; input: number; most: number },
): readonly number[] | null {
  const now = takenBy(settings, output);
  if (now.includes(input)) return now.filter((taken) => taken !== input);
  if (most === 1) return [input];
  return now.length < most ? [...now, input].sort((a, b) => a - b) : null;
}

export const fullWords = (output: string, most: number): string =>
  `${output} already hears ${most} inputs, as many as the unit sums: drop one of them first.`;
