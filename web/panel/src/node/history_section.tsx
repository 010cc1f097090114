// SPDX-License-Identifier: Apache-2.0
import type { JSX } from 'preact';
import { get } from '../api/client';
import { toView } from '../browser/route';
import type { HeardNode } from '../feed/state';
import { state } from '../feed/store';
import { Entries } from '../journal/entries';
import { RefusalText } from '../ui/findings';
import { useAnswer } from '../ui/use_answer';

export function HistorySection({ node }: { node: HeardNode }): JSX.Element {
  // Something new may stand in the journal when a change of this node has moved on.
  const latest = state.value.changes.filter((change) => change.node === node.name).pop();
  const question = JSON.stringify([
    node.name,
    latest?.id,
    latest?.stage,
    node.agreement,
    node.link,
  ]);
  const { answer, refusal } = useAnswer(
    question,
    (signal) => get('/journal', {}, { query: { node: node.name, limit: 12 }, signal }),
    400,
  );
  return (
    <section class="part" aria-label="History of this node">
      <div class="part-head">
        <h2>History</h2>
        <span class="spring" />
        <a class="button" href={toView('journal', { node: node.name })}>
          All of it in the journal
        </a>
      </div>
      <RefusalText refusal={refusal} />
      {answer &&
        (answer.entries.length ? (
          <Entries entries={answer.entries} withNode={false} />
        ) : (
          <p class="none">The journal has nothing about it.</p>
        ))}
    </section>
  );
}
