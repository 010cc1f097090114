// SPDX-License-Identifier: Apache-2.0
// What would be lost if this node's power failed now.
import type { JSX } from 'preact';
import type { ExplainedChain, Supposed } from '../api/types';
import { suppose } from '../edit/supposing';
import type { HeardNode } from '../feed/state';
import { FindingList, RefusalText } from '../ui/findings';
import { Head } from '../ui/table';
import { useAnswer } from '../ui/use_answer';
import { marginWords } from './margin';

interface Props {
  node: HeardNode;
  now: readonly ExplainedChain[];
}

// Explained is one carrier of each receiver, the one that is worst off now, which need not be the
// one that is worst off without power: another is named.
function marginNow(now: readonly ExplainedChain[], chain: ExplainedChain): string {
  const here = now.filter(({ receiver }) => receiver === chain.receiver);
  const same = here.find(({ carrier }) => carrier === chain.carrier);
  if (same || !here[0]) return marginWords(same?.budget);
  return `${marginWords(here[0].budget)} (${here[0].carrier}, worst off now)`;
}

function Lost({ supposed, now }: { supposed: Supposed } & Pick<Props, 'now'>): JSX.Element {
  const { chains, findings } = supposed;
  return (
    <>
      <table class="compare">
        <Head columns={['Carrier worst off', 'Margin now', 'Without power']} />
        <tbody>
          {chains.map((chain, i) => (
            <tr key={i}>
              <th scope="row">
                {chain.carrier}
                {chain.receiver ? ` at ${chain.receiver}` : ''}
              </th>
              <td>{marginNow(now, chain)}</td>
              <td>{marginWords(chain.budget)}</td>
            </tr>
          ))}
        </tbody>
      </table>
      {findings.some(({ severity }) => severity !== 'note') ? (
        <FindingList findings={findings} notes={false} />
      ) : (
        <p class="quiet">No rule would be broken: the receivers would still do.</p>
      )}
    </>
  );
}

export function PowerFailsSection({ node, now }: Props): JSX.Element {
  const question = JSON.stringify([node.name, node.seen?.settings, node.seen?.telemetry.powered]);
  const { answer, refusal } = useAnswer(
    question,
    (signal) => suppose(node.name, { passive: true }, signal),
    300,
  );
  const already = node.seen?.passive === true;
  return (
    <section class="part" aria-label="If its power fails">
      <h2>If its power fails</h2>
      {already && <p>It is a plain passive antenna now: no gain, no filter.</p>}
      {answer && !already && <Lost supposed={answer} now={now} />}
      <RefusalText refusal={refusal} />
    </section>
  );
}
