// SPDX-License-Identifier: Apache-2.0
// Rows of the journal, newest first.
import type { JSX } from 'preact';
import type { JournalEntry } from '../api/types';
import { toNode } from '../browser/route';
import { shortWhen } from '../model/format';
import { LinkTo } from '../ui/link_to';

const kindWords: Record<string, string> = {
  intent: 'decided',
  fate: 'came out',
  refused: 'refused',
  adopted: 'adopted',
  found: 'found',
  lock: 'lock',
  segment: 'segment',
  alarm: 'alarm',
  command: 'command',
  plan: 'plan',
  switch: 'switch',
  step: 'step',
  arming: 'arming',
  journal: 'journal',
  carriers: 'on the air',
  crew: 'crew',
};
export const journalKind = (kind: string): string => kindWords[kind] ?? kind;

// A verdict can be a page of numbers; they are there for whoever asks.
const VerdictText = ({ text }: { text: string }): JSX.Element =>
  text.length <= 100 ? (
    <p class="quiet">Verdict: {text}</p>
  ) : (
    <details>
      <summary>Verdict, in numbers</summary>
      <p class="quiet">{text}</p>
    </details>
  );

interface Props {
  entries: readonly JournalEntry[];
  withNode?: boolean;
}

export function Entries({ entries, withNode = true }: Props): JSX.Element {
  const now = new Date();
  return (
    <ol class="entries" reversed>
      {entries.map((entry) => (
        <li key={entry.sequence}>
          <time dateTime={entry.at}>{shortWhen(entry.at, now)}</time>
          <span class="kind">{journalKind(entry.kind)}</span>
          <div>
            <p>
              <b>{entry.who}</b>
              {withNode && entry.node && (
                <>
                  {' '}
                  <LinkTo name={entry.node} otherwise={toNode(entry.node)} />
                </>
              )}
              {entry.what && ` ${entry.what}`}
              {entry.segment && <span class="quiet"> in {entry.segment}</span>}
            </p>
            {entry.why && <p>Why: {entry.why}</p>}
            {entry.fate && <p>{entry.fate}</p>}
            {entry.verdict && <VerdictText text={entry.verdict} />}
            {entry.waiver && <p>Waived: {entry.waiver}</p>}
          </div>
        </li>
      ))}
    </ol>
  );
}
