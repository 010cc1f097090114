// SPDX-License-Identifier: Apache-2.0
// Somebody turned a knob: what is seen is not what is wanted, and a person decides.
import type { JSX } from 'preact';
import { post } from '../api/client';
import type { HeardNode } from '../feed/state';
import { differences } from '../model/settings';
import { ActButton, useAct } from '../ui/act';
import { RefusalText, Said } from '../ui/findings';
import { Shape } from '../ui/shape';
import { Head } from '../ui/table';
import { useReasons, WaiverFields } from '../ui/why_fields';

const Compared = ({ node }: { node: HeardNode }): JSX.Element => (
  <table class="compare">
    <Head columns={[<span class="unseen">Setting</span>, 'Wanted', 'Seen']} />
    <tbody>
      {differences(node.wanted, node.seen?.settings).map(({ member, title, before, after }) => (
        <tr key={member}>
          <th scope="row">{title}</th>
          <td>{before}</td>
          <td>
            <b>{after}</b>
          </td>
        </tr>
      ))}
    </tbody>
  </table>
);

export function Agreement({ node }: { node: HeardNode }): JSX.Element | null {
  const acting = useAct();
  const reasons = useReasons();
  const drifted = node.agreement === 'drifted' && node.seen && node.wanted;
  if (!drifted) return <Said text={acting.done} />;
  const waive = acting.refusal?.outcome === 'needs-waiver';
  const decide = async (decision: 'reapply' | 'adopt', said: string): Promise<string> => {
    const headers = { 'If-Match': `"${node.wanted?.revision}"` };
    const waiver = reasons.sent(waive && reasons.reason.value.trim() !== '');
    await post(`/nodes/{node}/${decision}`, { node: node.name }, waiver, { headers });
    return said;
  };
  return (
    <section class="drift" aria-label="Not as wanted">
      <Shape level="caution" />
      <div>
        <h2>It shows other settings than those that are wanted</h2>
        <Compared node={node} />
        {waive && (
          <div class="pair">
            <WaiverFields {...reasons} />
          </div>
        )}
        <RefusalText refusal={acting.refusal} />
        <p class="buttons">
          <ActButton
            act="POST /nodes/{node}/reapply"
            acting={acting}
            run={() => decide('reapply', `${node.name} has again what is wanted.`)}
          >
            Re-apply what is wanted
          </ActButton>
          <ActButton
            act="POST /nodes/{node}/adopt"
            acting={acting}
            run={() => decide('adopt', `What ${node.name} shows is what is wanted now.`)}
          >
            Adopt what it shows
          </ActButton>
        </p>
      </div>
    </section>
  );
}
