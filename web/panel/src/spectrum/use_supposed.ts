// SPDX-License-Identifier: Apache-2.0
// What the daemon says to the edits of a node, while they change with every frame.
import type { Supposed } from '../api/types';
import type { Draft } from '../edit/drafts';
import { conditionsOf, suppose } from '../edit/supposing';
import type { HeardNode } from '../feed/state';
import type { Following } from '../ui/use_answer';
import { useLatest } from './use_latest';

export function useSupposed(node: HeardNode, draft: Draft | undefined): Following<Supposed> {
  const settings = draft?.settings;
  const asked = useLatest(settings ? JSON.stringify([conditionsOf(node), settings]) : null, () =>
    suppose(node.name, { settings: settings! }),
  );
  // What was said of another node is not about this one.
  return asked.answer && asked.answer.node !== node.name
    ? { ...asked, answer: null, old: false }
    : asked;
}
