// SPDX-License-Identifier: Apache-2.0
// A number with steps: typed, pressed up and down, or drawn along a scale. What is typed stays as
// typed until it is left; what is out of range is not sent, but said.
import { useSignal } from '@preact/signals';
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

export function NumberField(props: Props): JSX.Element {
  const { title, unit, value, steps, coarse, format, wrong, disabled = false, onInput } = props;
  const id = useId();
  const typed = useSignal<string | null>(null);
  const parsed = typed.value === null ? value : parse(typed.value);
  const notNumber = parsed === null ? `"${typed.value}" is not a number.` : undefined;
  const step = coarse ?? (steps && steps.step > 0 ? steps.step : 1);
  const move = (direction: 1 | -1): void => {
    typed.value = null;
    const next = Number((value + direction * step).toFixed(6));
    onInput(steps ? snap(next, steps) : next);
  };
  const allowed = steps
    ? `${format(steps.lowest)} to ${format(steps.highest)} ${unit}, steps of ${steps.step}`
    : undefined;
  const said = notNumber ?? wrong;
  return (
    <Row title={title} allowed={allowed} wrong={said} id={id}>
      <div class="number">
        <button
          type="button"
          class="button step"
          disabled={disabled}
          aria-label={`${title} down`}
          onClick={() => move(-1)}
        >
          −
        </button>
        <span class="number-input">
          <input
            id={id}
            type="text"
            inputMode="decimal"
            autocomplete="off"
            value={typed.value ?? format(value)}
            disabled={disabled}
            aria-invalid={said ? true : undefined}
            aria-describedby={allowed ? `${id}-allowed` : undefined}
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
        <button
          type="button"
          class="button step"
          disabled={disabled}
          aria-label={`${title} up`}
          onClick={() => move(1)}
        >
          +
        </button>
      </div>
      {steps && (
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
      )}
    </Row>
  );
}
