// SPDX-License-Identifier: Apache-2.0
// Somebody turned a knob: what is seen is not what is wanted, and a person decides.
import type { JSX } from 'preact';
import { post } from '../api/client';
import type { HeardNode } from '../feed/state';
import { differences } from '../model/settings';
import { Button, useAct } from '../ui/act';
import { RefusalText, Said } from '../ui/findings';
import { Shape } from '../ui/shape';
import { useReasons, WaiverFields } from '../ui/why_fields';

export function Agreement({ node }: { node: HeardNode }): JSX.Element | null {
  const acting = useAct();
  const reasons = useReasons();
  const drifted = node.agreement === 'drifted' && node.seen && node.wanted;
  if (!drifted) return <Said text={acting.done} />;
  const headers = { 'If-Match': `"${node.wanted?.revision}"` };
  const waive = acting.refusal?.outcome === 'needs-waiver';
  const waiver = reasons.sent(waive && reasons.reason.value.trim() !== '');
  const names = { node: node.name };
  return (
    <section class="drift" aria-label="Not as wanted">
      <Shape level="caution" />
      <div>
        <h2>It shows other settings than those that are wanted</h2>
        <table class="compare">
          <thead>
            <tr>
              <th scope="col">
                <span class="unseen">Setting</span>
              </th>
              <th scope="col">Wanted</th>
              <th scope="col">Seen</th>
            </tr>
          </thead>
          <tbody>
            {differences(node.wanted, node.seen?.settings).map((one) => (
              <tr key={one.member}>
                <th scope="row">{one.title}</th>
                <td>{one.before}</td>
                <td>
                  <b>{one.after}</b>
                </td>
              </tr>
            ))}
          </tbody>
        </table>
        {waive && (
          <div class="pair">
            <WaiverFields {...reasons} />
          </div>
        )}
        <RefusalText refusal={acting.refusal} />
        <p class="buttons">
          <Button
            act="POST /nodes/{node}/reapply"
            busy={acting.busy}
            onPress={() =>
              void acting.run(async () => {
                await post('/nodes/{node}/reapply', names, waiver, { headers });
                return `${node.name} has again what is wanted.`;
              })
            }
          >
            Re-apply what is wanted
          </Button>
          <Button
            act="POST /nodes/{node}/adopt"
            busy={acting.busy}
            onPress={() =>
              void acting.run(async () => {
                await post('/nodes/{node}/adopt', names, waiver, { headers });
                return `What ${node.name} shows is what is wanted now.`;
              })
            }
          >
            Adopt what it shows
          </Button>
        </p>
      </div>
    </section>
  );
}
