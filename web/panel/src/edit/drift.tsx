// SPDX-License-Identifier: Apache-2.0
// Somebody turned a knob: what is seen is not what is wanted, and a person decides.
import type { JSX } from 'preact';
import { ActButton, useAct } from '../ui/act';
import { RefusalText, Said } from '../ui/findings';
import { Shape } from '../ui/shape';
import { Head } from '../ui/table';
import { useReasons, WaiverFields } from '../ui/why_fields';
import type { Decision, Subject } from './subject';

const Compared = ({ apart }: Pick<Subject, 'apart'>): JSX.Element => (
  <table class="compare">
    <Head columns={[<span class="unseen">Setting</span>, 'Wanted', 'Seen']} />
    <tbody>
      {apart?.map(({ member, title, before, after }) => (
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

export function Drift({ of }: { of: Subject }): JSX.Element | null {
  const acting = useAct();
  const reasons = useReasons();
  const { name, acts, apart } = of;
  if (of.agreement !== 'drifted' || !apart) return <Said text={acting.done} />;
  const waive = acting.refusal?.outcome === 'needs-waiver';
  const decide = async (decision: Decision, said: string): Promise<string> => {
    const waiver = reasons.sent(waive && reasons.reason.value.trim() !== '');
    await of.decide(decision, waiver, { 'If-Match': `"${of.revision}"` });
    return said;
  };
  return (
    <section class="drift" aria-label="Not as wanted">
      <Shape level="caution" />
      <div>
        <h2>It shows other settings than those that are wanted</h2>
        <Compared apart={apart} />
        {waive && (
          <div class="pair">
            <WaiverFields {...reasons} />
          </div>
        )}
        <RefusalText refusal={acting.refusal} />
        <p class="buttons">
          <ActButton
            act={acts.reapply}
            acting={acting}
            run={() => decide('reapply', `${name} has again what is wanted.`)}
          >
            Re-apply what is wanted
          </ActButton>
          <ActButton
            act={acts.adopt}
            acting={acting}
            run={() => decide('adopt', `What ${name} shows is what is wanted now.`)}
          >
            Adopt what it shows
          </ActButton>
        </p>
      </div>
    </section>
  );
}
