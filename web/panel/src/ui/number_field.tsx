// SPDX-License-Identifier: Apache-2.0
// A number with steps: typed, pressed up and down, or drawn along a scale. What is typed stays as
// typed until it is left; what is out of range is not sent, but said.
import { useSignal, type Signal } from '@preact/signals';
import type { JSX } from 'preact';
import { useId } from 'preact/hooks';
import type { Steps } from '../api/types';
import { snap } from '../model/settings';
import { Row } from './fields';
import { parse } from './parse_number';

interface Props {
  title: string;
  unit: string;
  value: number;
  steps: Steps | undefined;
  // The step of the buttons where the allowed one is too fine for fingers.
  coarse?: number;
  format: (value: number) => string;
  wrong?: string | undefined;
  disabled?: boolean;
  onInput: (value: number) => void;
}

// Of the buttons and the arrow keys.
const stepOf = ({ coarse, steps }: Props): number =>
  coarse ?? (steps && steps.step > 0 ? steps.step : 1);

// What is typed: null once it is left, and the value is written out.
type Typed = Signal<string | null>;
type FieldProps = Props & { typed: Typed };

function Typing(props: FieldProps & { id: string; wrong: string | undefined }): JSX.Element {
  const { id, typed, title, unit, value, steps, format, wrong, disabled, onInput } = props;
  const move = (direction: 1 | -1): void => {
    typed.value = null;
    const next = Number((value + direction * stepOf(props)).toFixed(6));
    onInput(steps ? snap(next, steps) : next);
  };
  const stepper = (direction: 1 | -1, word: string, sign: string): JSX.Element => (
    <button
      type="button"
      class="button step"
      disabled={disabled}
      aria-label={`${title} ${word}`}
      onClick={() => move(direction)}
    >
      {sign}
    </button>
  );
  return (
    <div class="number">
      {stepper(-1, 'down', '−')}
      <span class="number-input">
        <input
          id={id}
          type="text"
          inputMode="decimal"
          autocomplete="off"
          value={typed.value ?? format(value)}
          disabled={disabled}
          aria-invalid={wrong ? true : undefined}
          aria-describedby={steps ? `${id}-allowed` : undefined}
          onInput={(event) => {
            typed.value = event.currentTarget.value;
            const number = parse(typed.value);
            if (number !== null) onInput(number);
          }}
          onBlur={() => void (typed.value = null)}
          onKeyDown={(event) => {
            if (event.key !== 'ArrowUp' && event.key !== 'ArrowDown') return;
            event.preventDefault();
            move(event.key === 'ArrowUp' ? 1 : -1);
          }}
        />
        <span class="unit">{unit}</span>
      </span>
      {stepper(1, 'up', '+')}
    </div>
  );
}

function Scale(props: FieldProps & { steps: Steps }): JSX.Element {
  const { typed, title, unit, value, steps, coarse, format, disabled, onInput } = props;
  return (
    <input
      type="range"
      class="scale"
      aria-label={`${title}, scale`}
      aria-valuetext={`${format(value)} ${unit}`}
      min={steps.lowest}
      max={steps.highest}
      step={coarse ?? (steps.step || 'any')}
      value={value}
      disabled={disabled}
      onInput={(event) => {
        typed.value = null;
        onInput(snap(Number(event.currentTarget.value), steps));
      }}
    />
  );
}

export function NumberField(props: Props): JSX.Element {
  const { title, unit, steps, format } = props;
  const id = useId();
  const typed = useSignal<string | null>(null);
  const notNumber = typed.value !== null && parse(typed.value) === null;
  const wrong = notNumber ? `"${typed.value}" is not a number.` : props.wrong;
  const allowed = steps
    ? `${format(steps.lowest)} to ${format(steps.highest)} ${unit}, steps of ${steps.step}`
    : undefined;
  return (
    <Row title={title} allowed={allowed} wrong={wrong} id={id}>
      <Typing {...props} id={id} typed={typed} wrong={wrong} />
      {steps && <Scale {...props} typed={typed} steps={steps} />}
    </Row>
  );
}
