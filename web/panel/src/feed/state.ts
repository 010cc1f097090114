// SPDX-License-Identifier: Apache-2.0
// What the feed has told, as a value; and how a message changes it. Nodes that a message does not
// name keep their identity, so that what shows them need not be drawn again.
import type { FedBy, Matrix } from '../api/matrix';
import type {
  Alarm,
  Change,
  CrewTick,
  Line,
  Node,
  Rack,
  RunningOrder,
  Switch,
} from '../api/types';

// A node, and the moment (of the page's steady clock, ms) when the feed told it.
export interface HeardNode extends Node {
  readonly heard: number;
  // Where its cable ends, if that is at a matrix.
  readonly fed_by?: FedBy;
}
export interface HeardMatrix extends Matrix {
  readonly heard: number;
}

export interface RackState {
  readonly server: string | null;
  readonly sequence: number | null;
  readonly rack: Rack | null;
  readonly nodes: ReadonlyMap<string, HeardNode>;
  // None as well where the daemon is older than them.
  readonly matrices: ReadonlyMap<string, HeardMatrix>;
  readonly lines: readonly Line[];
  readonly alarms: readonly Alarm[];
  readonly changes: readonly Change[];
  readonly ticks: readonly CrewTick[];
  readonly order: RunningOrder | null;
  readonly switching: Switch | null;
}

export const nothing: RackState = {
  server: null,
  sequence: null,
  rack: null,
  nodes: new Map(),
  matrices: new Map(),
  lines: [],
  alarms: [],
  changes: [],
  ticks: [],
  order: null,
  switching: null,
};

export type NodePatch = { name: string } & Record<string, unknown>;

interface Told {
  sequence: number;
  // When it was made, by the daemon's wall clock; that of this machine may differ.
  at: string;
  rack?: Rack;
  nodes?: Node[];
  // What is new of nodes that are known: RFC 7396.
  node_patches?: NodePatch[];
  // In a change those that are otherwise, whole.
  matrices?: Matrix[];
  lines?: Line[];
  alarms?: Alarm[];
  changes?: Change[];
  ticks?: CrewTick[];
  running_order?: RunningOrder;
  switch?: Switch;
}

export type Message =
  | { type: 'hello'; server: string; epoch: number; sequence: number }
  | ({ type: 'snapshot' } & Told)
  | ({ type: 'change' } & Told)
  | { type: 'problem'; detail: string };

// JSON Merge Patch, RFC 7396: null takes a member away. Members that it does not name keep their
// identity.
export function mergePatch(before: unknown, patch: unknown): unknown {
  if (typeof patch !== 'object' || patch === null || Array.isArray(patch)) return patch;
  const known = typeof before === 'object' && before !== null && !Array.isArray(before);
  const merged: Record<string, unknown> = known ? { ...before } : {};
  for (const [name, value] of Object.entries(patch)) {
    if (value === null) delete merged[name];
    else merged[name] = mergePatch(merged[name], value);
  }
  return merged;
}

// A later message about the same switch names only the nodes that differ, and leaves out findings
// that stay.
export function mergeSwitch(before: Switch | null, told: Switch): Switch {
  if (!before || before.id !== told.id) return told;
  const changed = new Map(told.nodes.map((node) => [node.node, node]));
  const nodes = before.nodes.map((node) => changed.get(node.node) ?? node);
  const known = new Set(before.nodes.map((node) => node.node));
  for (const node of told.nodes) if (!known.has(node.node)) nodes.push(node);
  const findings = told.findings ?? before.findings;
  return findings ? { ...told, nodes, findings } : { ...told, nodes };
}

function matricesAfter(
  state: RackState,
  { type, matrices }: { type: string; matrices?: Matrix[] },
  heard: number,
): RackState['matrices'] {
  const fresh = type === 'snapshot';
  if (!fresh && !matrices) return state.matrices;
  const next = new Map(fresh ? [] : state.matrices);
  for (const matrix of matrices ?? []) next.set(matrix.name, { ...matrix, heard });
  return next;
}

export function apply(state: RackState, message: Message, heard: number): RackState {
  if (message.type === 'problem') return state;
  if (message.type === 'hello')
    // Another run of the daemon: its numbers have nothing to do with the old ones.
    return message.server === state.server ? state : { ...nothing, server: message.server };
  const fresh = message.type === 'snapshot';
  let nodes = state.nodes;
  if (fresh || message.nodes || message.node_patches) {
    const next = new Map(fresh ? [] : state.nodes);
    for (const node of message.nodes ?? []) next.set(node.name, { ...node, heard });
    for (const patch of message.node_patches ?? [])
      next.set(patch.name, {
        ...(mergePatch(state.nodes.get(patch.name), patch) as Node),
        heard,
      });
    nodes = next;
  }
  const told = message.switch;
  const switching = fresh
    ? (told ?? null)
    : told
      ? mergeSwitch(state.switching, told)
      : state.switching;
  return {
    server: state.server,
    sequence: message.sequence,
    rack: message.rack ?? state.rack,
    nodes,
    matrices: matricesAfter(state, message, heard),
    lines: message.lines ?? state.lines,
    alarms: message.alarms ?? state.alarms,
    changes: message.changes ?? state.changes,
    ticks: message.ticks ?? state.ticks,
    order: message.running_order ?? state.order,
    switching,
  };
}

// A change that does not follow the last one: something was missed.
export function isGap(state: RackState, message: Message): boolean {
  return (
    message.type === 'change' && state.sequence !== null && message.sequence !== state.sequence + 1
  );
}
