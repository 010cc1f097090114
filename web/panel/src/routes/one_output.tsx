// SPDX-License-Identifier: Apache-2.0
// On a narrow screen: one output, and the inputs that it may hear.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import type { MatrixInput, MatrixOutput } from '../api/matrix';
import { list } from '../model/format';
import { hearsWords, inputName, namesOf, outputName, passageOf, pluggedIn, takenBy } from '../model/matrix';
import { Button } from '../ui/act';
import { ChoiceField } from '../ui/fields';
import { LabelFact, LevelFact, SupplyFact } from './facts';
import { OpenEnd, PassageSign } from './passage';
import type { MatrixEditing } from './use_matrix';

interface Props {
  editing: MatrixEditing;
  chosen: number;
  onChoose: (input: number) => void;
}

interface OneProps extends Props {
  output: MatrixOutput;
  input: MatrixInput;
}

function InputChoice({ editing, output, input, chosen, onChoose }: OneProps): JSX.Element {
  const { stand, settings, disabled, toggle, matrix } = editing;
  const selects = matrix.datasheet.most_summed === 1;
  return (
    <li class={input.input === chosen ? 'in-hand' : ''}>
      <label>
        <input
          type={selects ? 'radio' : 'checkbox'}
          name={selects ? `${matrix.name} ${output.output}` : undefined}
          checked={takenBy(settings, output.output).includes(input.input)}
          disabled={disabled}
          onChange={(event) => {
            onChoose(input.input);
            toggle(output.output, input.input);
            // What is not taken does not stay ticked.
            event.currentTarget.checked = takenBy(
              editing.settings,
              output.output,
            ).includes(input.input);
          }}
        />
        <span class="port">{input.input}</span>
        <span class="antenna-name">
          <b>{pluggedIn(input) ?? <span class="quiet">no antenna</span>}</b>
          <span class="quiet in-line">
            <LabelFact input={input} stand={stand} />
            <SupplyFact input={input} stand={stand} />
            <LevelFact input={input} stand={stand} />
          </span>
        </span>
        <PassageSign of={passageOf(stand, output.output, input.input)} />
      </label>
    </li>
  );
}

// Where one input takes the place of another, none is a choice as well.
function Nothing({ editing, output }: Pick<OneProps, 'editing' | 'output'>): JSX.Element {
  const { settings, disabled, matrix, change } = editing;
  return (
    <li>
      <label>
        <input
          type="radio"
          name={`${matrix.name} ${output.output}`}
          checked={takenBy(settings, output.output).length === 0}
          disabled={disabled}
          onChange={() => change({ routes: { [output.output]: [] } })}
        />
        <span class="port" />
        <span class="antenna-name">nothing</span>
      </label>
    </li>
  );
}

const titleOf = (output: MatrixOutput): string =>
  output.receiver === undefined && output.ends_at === undefined
    ? `${output.output}: no receiver`
    : `${output.output}: ${outputName(output)}`;

// What it hears, and what it would.
function Hears({ editing, output }: Pick<OneProps, 'editing' | 'output'>): JSX.Element {
  const { matrix, settings, draft } = editing;
  const hears = hearsWords(matrix, output);
  const would = takenBy(settings, output.output).map(namesOf(matrix).input);
  const same = String(takenBy(draft?.base, output.output));
  const edited = draft !== undefined && same !== String(takenBy(draft.settings, output.output));
  return (
    <p class="hears" role="status">
      {output.hears.length === 0 ? <OpenEnd words={hears} /> : <span>{hears}</span>}
      {edited && <b>with the edits: {would.length > 0 ? list(would) : 'nothing'}</b>}
    </p>
  );
}

export function OneOutput(props: Props): JSX.Element | null {
  const { matrix } = props.editing;
  const at = useSignal(0);
  const last = matrix.outputs.length - 1;
  const output = matrix.outputs[Math.min(at.value, last)];
  if (!output) return null;
  const go = (by: number): void => void (at.value = Math.min(last, Math.max(0, at.value + by)));
  const selects = matrix.datasheet.most_summed === 1;
  return (
    <section class="one-output" aria-label={`Output ${titleOf(output)}`}>
      <div class="choose-output">
        <Button label="Output before" disabled={at.value === 0} onPress={() => go(-1)}>
          ‹
        </Button>
        <ChoiceField
          title="Output"
          value={String(Math.min(at.value, last))}
          choices={matrix.outputs.map((each, i) => ({ value: String(i), title: titleOf(each) }))}
          onInput={(value) => void (at.value = Number(value))}
        />
        <Button label="Next output" disabled={at.value >= last} onPress={() => go(1)}>
          ›
        </Button>
      </div>
      <Hears editing={props.editing} output={output} />
      <ul class="input-choices">
        {selects && <Nothing editing={props.editing} output={output} />}
        {matrix.inputs.map((input) => (
          <InputChoice key={inputName(input)} {...props} output={output} input={input} />
        ))}
      </ul>
    </section>
  );
}
