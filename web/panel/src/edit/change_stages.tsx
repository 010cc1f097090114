// SPDX-License-Identifier: Apache-2.0
// How far a change has come, on its way to the node and back.
import type { JSX } from 'preact';

const stageWords: Record<string, string> = {
  recording: 'recording',
  staging: 'sending',
  applying: 'putting in force',
  'reading-back': 'reading back',
  settled: 'read back: as wanted',
};
const changeStages = Object.keys(stageWords);

export function ChangeStages({ stage }: { stage: string }): JSX.Element {
  const rests = stage === 'resting';
  const at = changeStages.indexOf(rests ? 'reading-back' : stage);
  return (
    <ol class="stages" aria-label="How far the change has come">
      {changeStages.map((each, i) => (
        <li
          key={each}
          class={i < at || stage === 'settled' ? 'done' : i === at ? 'now' : ''}
          aria-current={i === at ? 'step' : undefined}
        >
          {rests && i === at ? 'without its supply, for a moment' : stageWords[each]}
        </li>
      ))}
    </ol>
  );
}
