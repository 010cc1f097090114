// SPDX-License-Identifier: Apache-2.0
// A matrix as the daemon tells it: the rack's unit that antennas end in, and that decides which
// receivers hear which of them. Inputs and outputs count from 1, as on the unit; they are the names of
// the members of a table.
import type { Answer, Finding, Node, Steps } from './types';

export type Table<Value> = Readonly<Record<string, Value>>;

export interface MatrixSettings {
  readonly label: string;
  // What each output takes, rising; none: it hears nothing.
  readonly routes: Table<readonly number[]>;
  // Absent where the unit has no trims.
  readonly trims_db?: Table<number>;
  // 0: off. Absent where it feeds nothing.
  readonly supplies_mv?: Table<number>;
  // Of each input.
  readonly labels: Table<string>;
}
export interface MatrixWanted extends MatrixSettings {
  readonly revision: number;
}
export type MatrixPatch = {
  -readonly [Member in keyof MatrixSettings]?: MatrixSettings[Member];
};

export interface MatrixSheet {
  title: string;
  inputs: number;
  outputs: number;
  // 1: an output takes one input. More: it takes the sum of so many at most.
  most_summed: number;
  // New routes: each output in its own time, or all in one instant.
  applies: 'one after another' | 'at once';
  // Absent: not known.
  isolation_of_inputs_db?: number;
  isolation_of_outputs_db?: number;
  trim_db?: Steps;
  supplies_mv?: number[];
  most_ma?: number;
  most_ma_of_all?: number;
  measures_current: boolean;
  measures_level: boolean;
}

// Only what it measures.
export interface Measured {
  current_ma?: number;
  limited?: boolean;
  level_dbm?: number;
}
export interface MatrixInput {
  input: number;
  // The node whose cable ends there; absent: none in the rack file.
  antenna?: string;
  // The output of another matrix that ends there.
  from?: { matrix: string; output: number };
  measured?: Measured;
}
export interface MatrixOutput {
  output: number;
  // Absent: nothing in the rack file begins there.
  receiver?: string;
  branch?: number;
  // The input of another matrix that it ends at.
  ends_at?: FedBy;
  // Antennas, by the routes in force.
  hears: string[];
}

type SeenOfNode = NonNullable<Node['seen']>;
export interface SeenMatrix extends Pick<
  SeenOfNode,
  'passive' | 'epoch' | 'read_at' | 'age_ms' | 'quality'
> {
  settings: MatrixSettings;
  telemetry: Omit<SeenOfNode['telemetry'], 'detector_dbm'>;
}

export interface Matrix {
  name: string;
  type: string;
  stands: string;
  // False: it hangs on no line, and is as the rack file says that it was set by hand.
  set_from_here: boolean;
  uid?: string;
  line?: string;
  on_return?: Node['on_return'];
  link?: Node['link'];
  agreement?: Node['agreement'];
  firmware?: string;
  reported_type?: string;
  datasheet: MatrixSheet;
  inputs: MatrixInput[];
  outputs: MatrixOutput[];
  set_by_hand?: MatrixSettings;
  wanted?: MatrixWanted;
  seen?: SeenMatrix;
  change?: { id: number; stage: string; who: string; settings: MatrixSettings };
  findings: Finding[];
  conditions: Node['conditions'];
}

// What a node says of the input that its cable ends at.
export interface FedBy {
  matrix: string;
  input: number;
}

export type MatrixAnswer = Omit<Answer, 'node'> & { matrix?: Matrix };
