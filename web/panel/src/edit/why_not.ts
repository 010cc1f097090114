// SPDX-License-Identifier: Apache-2.0
// Why an edit cannot be sent now, in one line beside the button; empty: it can.
interface Standing {
  live: boolean;
  theirs: boolean; // another controller has the node
  // Who locked the rack, may be empty; null: it is not locked.
  held: string | null;
  // Somebody else has changed the node meanwhile.
  crossed: boolean;
  notJudged: boolean;
  checking: boolean;
  refused: boolean;
  // A waiver is needed, and its fields are not filled in.
  unanswered: boolean;
}

export function whyNot(now: Standing): string {
  if (!now.live) return 'No live feed: nothing can be changed.';
  if (now.theirs) return 'Another controller has it: this is not sent there.';
  if (now.held !== null)
    return `The rack is locked${now.held ? ` by ${now.held}` : ''}: this can be tried out, not sent.`;
  if (now.crossed) return 'Somebody else has changed it: choose above.';
  if (now.notJudged) return 'It could not be judged, so it cannot be sent.';
  if (now.checking) return 'Still checking …';
  if (now.refused) return 'The rules refuse it: nobody can waive that.';
  if (now.unanswered) return 'Say who answers for it, and the reason.';
  return '';
}
