// SPDX-License-Identifier: Apache-2.0
// A node explained as it is, and as it would be with its edits; for the carrier that is chosen, or
// for whichever is worst off.
import { get } from '../api/client';
import type { Explained, Supposed } from '../api/types';
import type { Draft } from '../edit/drafts';
import { conditionsOf, suppose } from '../edit/supposing';
import type { HeardNode } from '../feed/state';
import { useAnswer, type Following } from '../ui/use_answer';

const settle = 120; // ms without a keystroke before the daemon is asked

export function useExplained(
  node: HeardNode,
  draft: Draft | undefined,
  carrier: string,
): { explained: Following<Explained>; supposed: Following<Supposed> } {
  const chosen = carrier ? { carrier } : {};
  const conditions = conditionsOf(node);
  const explained = useAnswer(
    JSON.stringify([conditions, carrier]),
    (signal) => get('/nodes/{node}/explain', { node: node.name }, { query: chosen, signal }),
    settle,
  );
  const supposed = useAnswer(
    draft ? JSON.stringify([conditions, carrier, draft.settings]) : null,
    (signal) => suppose(node.name, { settings: draft!.settings, ...chosen }, signal),
    settle,
  );
  return { explained, supposed };
}
