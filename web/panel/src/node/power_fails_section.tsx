// SPDX-License-Identifier: Apache-2.0
// What would be lost if this node's power failed now.
import type { JSX } from 'preact';
import type { ExplainedChain } from '../api/types';
import { suppose } from '../edit/supposing';
import type { HeardNode } from '../feed/state';
import { signedTenths } from '../model/format';
import { withoutSupply } from '../model/trouble';
import { FindingList, RefusalText } from '../ui/findings';
import { useAnswer } from '../ui/use_answer';

export function PowerFailsSection({
  node,
  now,
}: {
  node: HeardNode;
  now: readonly ExplainedChain[];
}): JSX.Element {
  const question = JSON.stringify([node.name, node.seen?.settings, node.seen?.telemetry.powered]);
  const { answer, refusal } = useAnswer(
    question,
    (signal) => suppose(node.name, { passive: true }, signal),
    300,
  );
  const already = node.seen?.passive === true || withoutSupply(node);
  return (
    <section class="part" aria-label="If its power fails">
      <h2>If its power fails</h2>
      {already && <p>It is a plain passive antenna now: no gain, no filter.</p>}
      {answer && !already && (
        <>
          <table class="compare">
            <thead>
              <tr>
                <th scope="col">Carrier worst off</th>
                <th scope="col">Margin now</th>
                <th scope="col">Without power</th>
              </tr>
            </thead>
            <tbody>
              {answer.chains.map((chain, i) => {
                const before = now.find((one) => one.receiver === chain.receiver);
                return (
                  <tr key={i}>
                    <th scope="row">
                      {chain.carrier}
                      {chain.receiver ? ` at ${chain.receiver}` : ''}
                    </th>
                    <td>
                      {before?.budget.margin_db === undefined
                        ? 'not known'
                        : `${signedTenths(before.budget.margin_db)} dB`}
                    </td>
                    <td>
                      {chain.budget.margin_db === undefined
                        ? 'not known'
                        : `${signedTenths(chain.budget.margin_db)} dB`}
                    </td>
                  </tr>
                );
              })}
            </tbody>
          </table>
          {answer.findings.some((finding) => finding.severity !== 'note') ? (
            <FindingList findings={answer.findings} notes={false} />
          ) : (
            <p class="quiet">No rule would be broken: the receivers would still do.</p>
          )}
        </>
      )}
      <RefusalText refusal={refusal} />
    </section>
  );
}
