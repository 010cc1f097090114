// SPDX-License-Identifier: Apache-2.0
// How an edit stands: its verdict, whether somebody else has changed what is edited meanwhile, and
// what holds it.
import type { Finding, Verdict } from '../api/types';
import { live, state } from '../feed/store';
import type { Level } from '../model/condition';
import type { Acting } from '../ui/act';
import type { Following } from '../ui/use_answer';
import type { InHand } from './in_hand';
import type { Revised } from './kept_drafts';
import { whyNot } from './why_not';

export interface Judgement {
  would_be?: Verdict;
  findings: readonly Finding[];
}

export interface Edited<W extends Revised> {
  inHand: InHand<W>;
  verdict: Following<Judgement>;
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

function theirsOf<W extends Revised>({ inHand, acting }: Edited<W>): W | null {
  if (acting.busy) return null;
  const { wanted, base } = inHand;
  if (wanted && wanted.revision !== base.revision) return wanted;
  // Of the same kind as what was sent.
  const told = acting.refusal?.wanted as unknown as W | undefined;
  return acting.refusal?.outcome === 'stale' ? (told ?? null) : null;
}

export interface Standing<W extends Revised> {
  // What somebody else has made of it meanwhile.
  theirs: W | null;
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
export function standingOf<W extends Revised>(
  edited: Edited<W>,
  asked: boolean,
  signed: boolean,
): Standing<W> {
  const { inHand, verdict, acting } = edited;
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
    theirs: inHand.theirs,
    held: locked ? (rack.lock?.who ?? '') : null,
    crossed: theirs !== null,
    notJudged: verdict.refusal !== null,
    checking: checking && !asks,
    refused,
    unanswered: waive && asked && !signed,
  });
  return { theirs, judged, checking, refused, waive, asks, locked, because };
}
