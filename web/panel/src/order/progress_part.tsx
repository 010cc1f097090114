// SPDX-License-Identifier: Apache-2.0
// A switch as it happens, node by node; and its end, with what to do where a node was left
// somewhere.
import type { JSX } from 'preact';
import { useEffect } from 'preact/hooks';
import type { Switch } from '../api/types';
import { toNode } from '../browser/route';
import { titleOf } from '../feed/show';
import { timeOfDay } from '../model/format';
import { leftSomewhere, stageOfSwitch, switchWord } from '../model/switching';
import { announce } from '../ui/announce';
import { FindingList } from '../ui/findings';
import { Shape, Tag } from '../ui/shape';
import type { Level } from '../model/condition';

const endLevel = (now: Switch): Level =>
  !now.ended
    ? 'moving'
    : now.stage === 'done'
      ? 'calm'
      : now.stage === 'stuck'
        ? 'fault'
        : 'caution';

function Steps({ done }: { done: number }): JSX.Element {
  return (
    <span class="pips" aria-hidden="true">
      {[1, 2, 3, 4].map((i) => (
        <span key={i} class={i <= done ? 'pip full' : 'pip'} />
      ))}
    </span>
  );
}

// Of one that ended before a restart only its end is known.
const whenOf = ({ requested_at: from, ended_at: to }: Switch): string =>
  timeOfDay(from) + (to !== undefined && to !== from ? ` to ${timeOfDay(to)}` : '');

const Nodes = ({ now }: { now: Switch }): JSX.Element => (
  <ul class="switched">
    {now.nodes.map(({ node, level, word, steps_done, reason }) => (
      <li key={node}>
        <a href={toNode(node)}>{node}</a>
        <Steps done={steps_done} />
        <Tag level={level} word={word} />
        {reason && <span class="quiet">{reason}</span>}
      </li>
    ))}
  </ul>
);

export function ProgressPart({ now }: { now: Switch }): JSX.Element {
  const said = `${switchWord(now)}${now.reason ? `. ${now.reason}` : ''}`;
  useEffect(() => announce(said), [said]);
  const left = now.ended ? leftSomewhere(now) : [];
  return (
    <section class={`progress ${endLevel(now)}`} aria-label="The switch">
      <h2>
        <Shape level={endLevel(now)} />{' '}
        {now.ended
          ? `${titleOf(now.from)} → ${titleOf(now.to)}: ${stageOfSwitch(now.stage)}`
          : switchWord(now)}
      </h2>
      <p class="quiet">
        {now.who}, {now.triggered_by === 'hand' ? 'by hand' : `by ${now.triggered_by}`},{' '}
        {whenOf(now)}
        {now.why && `: ${now.why}`}
      </p>
      {now.reason && <p class="reason">{now.reason}</p>}
      {left.length > 0 && (
        <div class="stuck" role="alert">
          <h3>Look at these: they were left where nobody chose</h3>
          <ul>
            {left.map((node) => (
              <li key={node.node}>
                <a href={toNode(node.node)}>{node.node}</a>: {node.word}. {node.what_to_do}
              </li>
            ))}
          </ul>
          {now.stage === 'stuck' && (
            <p>
              To {titleOf(now.from)} or to {titleOf(now.to)} the way is found from where each node is
              now.
            </p>
          )}
        </div>
      )}
      {now.stage === 'done' ? (
        <details>
          <summary>Node by node</summary>
          <Nodes now={now} />
        </details>
      ) : (
        <Nodes now={now} />
      )}
      <FindingList findings={now.findings ?? []} notes={false} />
    </section>
  );
}
