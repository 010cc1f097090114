// SPDX-License-Identifier: Apache-2.0
// How an edit stands: its verdict, whether somebody else has changed the node meanwhile, and what
// holds it.
import type { Supposed, Verdict, Wanted } from '../api/types';
import type { HeardNode } from '../feed/state';
import { live, state } from '../feed/store';
import type { Level } from '../model/condition';
import type { Acting } from '../ui/act';
import type { Following } from '../ui/use_answer';
import type { Draft } from './drafts';
import { isTheirs } from './use_editing';
import { whyNot } from './why_not';

export interface Edited {
  node: HeardNode;
  draft: Draft;
  verdict: Following<Supposed>;
  acting: Acting;
}

interface Judged {
  level: Level;
  word: string;
}

const verdicts: Record<Verdict, Judged> = {
  accepted: { level: 'calm', word: 'Nothing is against it' },
  'needs-waiver': { level: 'caution', word: 'Caution: it needs somebody who answers for it' },
  refused: { level: 'fault', word: 'It cannot be: refused' },
};

function theirsOf({ node, draft, acting }: Edited): Wanted | null {
  if (acting.busy) return null;
  if (node.wanted && node.wanted.revision !== draft.base.revision) return node.wanted;
  return acting.refusal?.outcome === 'stale' ? (acting.refusal.wanted ?? null) : null;
}

export interface Standing {
  // What somebody else has made of the node meanwhile.
  theirs: Wanted | null;
  // What could not be judged has no verdict, not that of something else.
  judged: Judged | null;
  checking: boolean;
  refused: boolean;
  waive: boolean;
  // The press only asks who answers for it, and sends nothing.
  asks: boolean;
  locked: boolean;
  // Why it cannot be sent now; empty: it can.
  because: string;
}

// Of a waiver: whether its fields stand there, and are filled in.
export function standingOf(edited: Edited, asked: boolean, signed: boolean): Standing {
  const { node, verdict, acting } = edited;
  const { rack } = state.value;
  const wouldBe = verdict.answer?.would_be;
  const judged = wouldBe && !verdict.refusal ? verdicts[wouldBe] : null;
  const checking = !verdict.refusal && (verdict.old || judged === null);
  const waive = wouldBe === 'needs-waiver' || acting.refusal?.outcome === 'needs-waiver';
  const asks = waive && !asked;
  const theirs = theirsOf(edited);
  const locked = rack?.locked === true;
  const refused = wouldBe === 'refused';
  const because = whyNot({
    live: live.value,
    theirs: isTheirs(node),
    held: locked ? (rack.lock?.who ?? '') : null,
    crossed: theirs !== null,
    notJudged: verdict.refusal !== null,
    checking: checking && !asks,
    refused,
    unanswered: waive && asked && !signed,
  });
  return { theirs, judged, checking, refused, waive, asks, locked, because };
}
