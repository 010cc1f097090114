// SPDX-License-Identifier: Apache-2.0
// The input in hand: who hears it, and its label, trim and supply as fields.
import type { JSX, RefObject } from 'preact';
import type { MatrixInput } from '../api/matrix';
import { toNode } from '../browser/route';
import { state } from '../feed/store';
import { decibels } from '../model/format';
import { heardByWords, pluggedIn, volts } from '../model/matrix';
import { ChoiceField, TextField } from '../ui/fields';
import { saidAbout } from '../ui/findings';
import { NumberField } from '../ui/number_field';
import { PowerCycle } from './power_cycle';
import type { MatrixEditing } from './use_matrix';

const longestLabel = 16; // bytes of UTF-8

interface FieldProps {
  editing: MatrixEditing;
  input: number;
}

const wrongOf = ({ verdict, acting }: MatrixEditing, pointer: string): string =>
  saidAbout(verdict.refusal ?? acting.refusal, pointer);

interface LabelProps {
  editing: MatrixEditing;
  title: string;
  value: string;
  pointer: string;
  onInput: (label: string) => void;
}

export function LabelField({ editing, title, value, pointer, onInput }: LabelProps): JSX.Element {
  const bytes = new TextEncoder().encode(value).length;
  const tooLong =
    bytes > longestLabel ? `The label has ${bytes} bytes; allowed are ${longestLabel}.` : '';
  return (
    <TextField
      title={title}
      allowed={`${bytes} of ${longestLabel} bytes`}
      value={value}
      wrong={wrongOf(editing, pointer) || tooLong}
      disabled={editing.disabled}
      onInput={onInput}
    />
  );
}

function TrimField({ editing, input }: FieldProps): JSX.Element | null {
  const steps = editing.matrix.datasheet.trim_db;
  const trim = editing.settings?.trims_db?.[input];
  if (!steps || trim === undefined) return null;
  return (
    <NumberField
      title="Trim"
      unit="dB"
      value={trim}
      steps={steps}
      format={decibels}
      wrong={wrongOf(editing, `/trims_db/${input}`)}
      disabled={editing.disabled}
      onInput={(value) => editing.change({ trims_db: { [input]: value } })}
    />
  );
}

function SupplyField({ editing, input }: FieldProps): JSX.Element | null {
  const { supplies_mv, most_ma } = editing.matrix.datasheet;
  const mv = editing.settings?.supplies_mv?.[input];
  if (!supplies_mv || mv === undefined) return null;
  return (
    <>
      <ChoiceField
        title="Supply up the cable"
        allowed={most_ma === undefined ? undefined : `at most ${most_ma} mA`}
        value={String(mv)}
        choices={[0, ...supplies_mv].map((value) => ({
          value: String(value),
          title: volts(value),
        }))}
        wrong={wrongOf(editing, `/supplies_mv/${input}`)}
        disabled={editing.disabled}
        onInput={(value) => editing.change({ supplies_mv: { [input]: Number(value) } })}
      />
      <p class="care">
        A supply voltage goes up the coax, to whatever hangs there. Whoever plugs or unplugs the
        cable switches it off first. Local codes and licensed practice come before this page.
      </p>
    </>
  );
}

interface Props {
  editing: MatrixEditing;
  input: MatrixInput;
  onChoose: (input: number) => void;
  place: RefObject<HTMLElement>;
}

// Where it hangs, and what it calls itself.
function aboutAntenna({ antenna }: MatrixInput): string[] {
  const node = state.value.nodes.get(antenna ?? '');
  const label = node?.seen?.settings.label ?? node?.wanted?.label;
  return [node?.hangs ?? '', label ? `labelled “${label}” itself` : ''].filter(Boolean);
}

const titleOf = (input: MatrixInput): string =>
  `${input.input}: ${pluggedIn(input) ?? 'no antenna'}`;

export function InputPart({ editing, input, onChoose, place }: Props): JSX.Element {
  const { matrix, settings, change } = editing;
  const at = input.input;
  return (
    <section class="part input-part" aria-label={`Input ${titleOf(input)}`} ref={place}>
      <div class="part-head">
        <h2>
          {pluggedIn(input) ?? 'No antenna'} <span class="quiet">input {at}</span>
        </h2>
        {input.antenna !== undefined && (
          <a class="button" href={toNode(input.antenna)}>
            Open the node
          </a>
        )}
      </div>
      <p class="quiet">
        {[heardByWords(matrix, at), ...aboutAntenna(input)].map((words) => (
          <span key={words} class="fact">
            {words}
          </span>
        ))}
      </p>
      <div class="choose-input">
        <ChoiceField
          title="Input in hand"
          value={String(at)}
          choices={matrix.inputs.map((each) => ({
            value: String(each.input),
            title: titleOf(each),
          }))}
          onInput={(value) => onChoose(Number(value))}
        />
      </div>
      {settings && matrix.set_from_here && (
        <>
          <SupplyField editing={editing} input={at} />
          <PowerCycle key={at} matrix={matrix} input={input} />
          <TrimField editing={editing} input={at} />
          <LabelField
            editing={editing}
            title="Label of the input"
            pointer={`/labels/${at}`}
            value={settings.labels[at] ?? ''}
            onInput={(label) => change({ labels: { [at]: label } })}
          />
        </>
      )}
    </section>
  );
}
