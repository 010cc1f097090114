// SPDX-License-Identifier: Apache-2.0
// What the switch to the chosen row would do: from where the rack is, and, only to look at, from
// another segment.
import { useSignal } from '@preact/signals';
import { get, type Query } from '../api/client';
import type { Preview } from '../api/types';
import { state } from '../feed/store';
import type { Row } from '../model/order';
import { useAnswer, type Following } from '../ui/use_answer';

export interface Ahead {
  // Nodes that it would go without.
  without: readonly string[];
  leaveOut: (nodes: readonly string[]) => void;
  // Empty: from where the rack is.
  from: string;
  lookFrom: (segment: string) => void;
  // What there is to look at.
  following: Following<Preview>;
  // From where the rack is, once it is armed where that matters. The way to one segment says
  // nothing about another.
  freeOf: (row: Row | null) => Preview | null;
  // That is of how things were before.
  old: boolean;
}

const nobody: readonly string[] = [];

// A choice for one segment, which is none for another.
function useChoice<T>(segment: string, none: T): [T, (choice: T) => void] {
  const made = useSignal({ segment, choice: none });
  return [
    made.value.segment === segment ? made.value.choice : none,
    (choice) => void (made.value = { segment, choice }),
  ];
}

// A way is planned from where every node is; it is asked anew when one of them is elsewhere.
function conditions(): readonly unknown[] {
  const { rack, order, nodes } = state.value;
  const where = [...nodes.values()].map(({ wanted, link, agreement, seen }) => [
    wanted?.revision,
    link,
    agreement,
    seen?.telemetry.powered,
  ]);
  return [rack?.revision, rack?.segment, rack?.locked, order?.armed?.cue, where];
}

export function useAhead(row: Row | null, underWay: boolean): Ahead {
  const segment = row?.segment ?? '';
  const [without, leaveOut] = useChoice(segment, nobody);
  const [from, lookFrom] = useChoice(segment, '');
  const ask = (query: Query, signal: AbortSignal): Promise<Preview> =>
    get('/segments/{segment}/preview', { segment }, { signal, query });
  const question = segment && !underWay ? JSON.stringify([segment, conditions(), without]) : null;
  const preview = useAnswer(
    question,
    (signal) => ask(without.length > 0 ? { without: without.join(',') } : {}, signal),
    250,
  );
  const fromElsewhere = useAnswer(
    from && question ? JSON.stringify([from, question]) : null,
    (signal) => ask({ from }, signal),
    250,
  );
  const freeOf = (to: Row | null): Preview | null => {
    const answer = preview.answer?.to === to?.segment ? preview.answer : null;
    return answer && { ...answer, ...answer.if_armed };
  };
  const following = from ? fromElsewhere : { ...preview, answer: freeOf(row) };
  return { without, leaveOut, from, lookFrom, following, freeOf, old: preview.old };
}
