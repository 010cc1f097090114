// SPDX-License-Identifier: Apache-2.0
// What a switch would do: whom it moves, in which steps, with every verdict on the way.
import type { JSX } from 'preact';
import type { Preview } from '../api/types';
import { toNode } from '../browser/route';
import { titleOf } from '../feed/show';
import { plural } from '../model/format';
import { differencesInWords } from '../model/any_settings';
import { outlookOf } from '../model/switching';
import { FindingList, RefusalText, VerdictWord } from '../ui/findings';
import { Shape } from '../ui/shape';
import type { Following } from '../ui/use_answer';
import { CrewPart } from './crew_part';

const parts = { whole: '', gain: 'gain first', window: 'window first' } as const;

const milliseconds = (ms: number): string =>
  ms < 1000 ? `${Math.round(ms)} ms` : `${(ms / 1000).toFixed(1)} s`;

interface Props {
  following: Following<Preview>;
  // Who would be left as it is.
  without: readonly string[];
  onWithout: (nodes: readonly string[]) => void;
}

// Silent nodes are offered, and whoever else moves behind one more press.
type LeaveOutProps = Omit<Props, 'following'> & { preview: Preview };

function LeaveOut({ preview, without, onWithout }: LeaveOutProps): JSX.Element | null {
  const silent = [...new Set([...preview.missing, ...without])].sort();
  const others = preview.nodes.map(({ node }) => node).filter((node) => !silent.includes(node));
  const box = (node: string): JSX.Element => (
    <label key={node} class="leave-out">
      <input
        type="checkbox"
        checked={without.includes(node)}
        onChange={(event) =>
          onWithout(
            event.currentTarget.checked
              ? [...without, node]
              : without.filter((left) => left !== node),
          )
        }
      />
      <span>
        Go without <b>{node}</b>: it stays as it is
      </span>
    </label>
  );
  if (silent.length + others.length === 0) return null;
  return (
    <div class="leaving-out">
      {silent.map(box)}
      {others.length > 0 && (
        <details>
          <summary>Go without a node</summary>
          {others.map(box)}
        </details>
      )}
    </div>
  );
}

// What it would come to, and what is in the way.
export function Verdict({ preview, old }: { preview: Preview; old: boolean }): JSX.Element {
  const { nodes, steps, time_ms, obstacles, if_armed } = preview;
  const { level, word } = outlookOf(preview);
  return (
    <div class={old ? 'preview old' : 'preview'}>
      <VerdictWord level={level} word={if_armed ? `Once it is armed: ${word}` : word} status>
        {nodes.length === 0
          ? 'no node has to move'
          : `${plural(nodes.length, 'node')}, ${plural(steps.length, 'step')}, about ${milliseconds(time_ms)}`}
      </VerdictWord>
      {obstacles.length > 0 && (
        <ul class="obstacles">
          {obstacles.map((sentence) => (
            <li key={sentence}>
              <Shape level="fault" />
              <span>{sentence}</span>
            </li>
          ))}
        </ul>
      )}
    </div>
  );
}

// What breaks on the way, and what there is at its end.
function Breaks({ clean, least_bad, breaches, end }: Preview): JSX.Element {
  const worse = end.filter(({ severity }) => severity !== 'note');
  return (
    <>
      {!clean && (
        <>
          <h3>Worse than both ends, on the way{least_bad ? '; no way breaks less' : ''}</h3>
          <FindingList findings={breaches} />
        </>
      )}
      {worse.length > 0 && (
        <>
          <h3>When it is there</h3>
          <FindingList findings={worse} />
        </>
      )}
    </>
  );
}

function Steps({ steps }: Preview): JSX.Element | null {
  if (steps.length === 0) return null;
  return (
    <ol class="steps">
      {steps.map(({ in_flight, moves }, i) => (
        <li key={i}>
          <h3>
            Step {i + 1}{' '}
            <span class="quiet">
              {in_flight.length === 0
                ? 'nothing is worse on the way'
                : plural(in_flight.length, 'finding')}
            </span>
          </h3>
          <ul class="moves">
            {moves.map(({ node, from, to, part }) => (
              <li key={node}>
                <a href={toNode(node)}>{node}</a>
                <span>
                  {differencesInWords(from, to) || 'told once more'}
                  {parts[part] && <span class="quiet"> ({parts[part]})</span>}
                </span>
              </li>
            ))}
          </ul>
          <FindingList findings={in_flight} />
        </li>
      ))}
    </ol>
  );
}

function WithoutSupply({ nodes }: Preview): JSX.Element | null {
  const passive = nodes.filter(({ supplied }) => !supplied).map(({ node }) => node);
  return passive.length === 0 ? null : (
    <p class="quiet">Without supply, so plain antennas before and after: {passive.join(', ')}.</p>
  );
}

export function PreviewPart({ following, without, onWithout }: Props): JSX.Element | null {
  const { answer: preview, old, refusal } = following;
  if (refusal) return <RefusalText refusal={refusal} />;
  // That the way is still to be found stands beside the cue.
  if (!preview) return null;
  return (
    <div class={old ? 'preview old' : 'preview'}>
      {!preview.from_now && <Verdict preview={preview} old={old} />}
      {preview.from_now ? (
        <LeaveOut preview={preview} without={without} onWithout={onWithout} />
      ) : (
        <p class="quiet">
          From every node as {titleOf(preview.from)} has it, not as they are now: whoever does not
          answer, the lock and what is armed do not count.
        </p>
      )}
      <CrewPart sheet={preview.crew_sheet} />
      <Breaks {...preview} />
      <Steps {...preview} />
      <WithoutSupply {...preview} />
    </div>
  );
}
