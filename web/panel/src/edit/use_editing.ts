// SPDX-License-Identifier: Apache-2.0
// A node in hand: what it can be set to, what of it is edited, and how to edit more.
import type { Allowed, Settings } from '../api/types';
import type { HeardNode } from '../feed/state';
import type { Agreement } from '../model/condition';
import type { Acting } from '../ui/act';
import type { Following } from '../ui/use_answer';
import { drafts, edit, type Draft } from './drafts';
import { useAllowed } from './use_allowed';

// Another controller has it: what was wanted here says nothing of it.
export const isTheirs = ({ agreement }: { agreement?: Agreement | undefined }): boolean =>
  agreement === 'not-ours';

export interface Editing {
  draft: Draft | undefined;
  allowed: Following<Allowed>;
  change: (changed: Partial<Settings>) => void;
}

export function useEditing(node: HeardNode, acting: Acting): Editing {
  return {
    draft: drafts.value.get(node.name),
    allowed: useAllowed(node.name),
    change: (changed) => {
      if (!node.wanted || isTheirs(node)) return;
      acting.clear();
      edit(node.name, node.wanted, changed);
    },
  };
}
