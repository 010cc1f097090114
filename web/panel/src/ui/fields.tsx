// SPDX-License-Identifier: Apache-2.0
// Fields with their name above, what is allowed beside, and what was wrong below.
import type { ComponentChildren, JSX } from 'preact';
import { useId } from 'preact/hooks';

interface Common {
  title: string;
  allowed?: string | undefined;
  wrong?: string | undefined;
  disabled?: boolean;
}

export function Row({
  title,
  allowed,
  wrong,
  id,
  children,
}: Common & { id: string; children: ComponentChildren }): JSX.Element {
  return (
    <div class={wrong ? 'field wrong' : 'field'}>
      <div class="field-head">
        <label for={id}>{title}</label>
        {allowed && (
          <span class="allowed" id={`${id}-allowed`}>
            {allowed}
          </span>
        )}
      </div>
      {children}
      {wrong && (
        <p class="wrong-text" id={`${id}-wrong`} role="alert">
          {wrong}
        </p>
      )}
    </div>
  );
}

const described = (id: string, allowed?: string, wrong?: string): string | undefined =>
  [allowed ? `${id}-allowed` : '', wrong ? `${id}-wrong` : ''].filter(Boolean).join(' ') ||
  undefined;

interface TextProps extends Common {
  value: string;
  onInput: (value: string) => void;
  required?: boolean;
  longest?: number;
  type?: 'text' | 'password' | 'search' | 'datetime-local';
  autocomplete?: string;
}

export function TextField(props: TextProps): JSX.Element {
  const {
    title,
    allowed,
    wrong,
    disabled = false,
    value,
    onInput,
    required = false,
    longest,
    type = 'text',
    autocomplete = 'off',
  } = props;
  const id = useId();
  return (
    <Row title={title} allowed={allowed} wrong={wrong} id={id}>
      <input
        id={id}
        type={type}
        value={value}
        disabled={disabled}
        required={required}
        autocomplete={autocomplete}
        aria-invalid={wrong ? true : undefined}
        aria-describedby={described(id, allowed, wrong)}
        {...(longest === undefined ? {} : { maxLength: longest })}
        onInput={(event) => onInput(event.currentTarget.value)}
      />
    </Row>
  );
}

interface ChoiceProps extends Common {
  value: string;
  choices: readonly { value: string; title: string }[];
  onChoose: (value: string) => void;
}

export function ChoiceField({
  title,
  allowed,
  wrong,
  disabled = false,
  value,
  choices,
  onChoose,
}: ChoiceProps): JSX.Element {
  const id = useId();
  return (
    <Row title={title} allowed={allowed} wrong={wrong} id={id}>
      <select
        id={id}
        value={value}
        disabled={disabled}
        aria-invalid={wrong ? true : undefined}
        aria-describedby={described(id, allowed, wrong)}
        onChange={(event) => onChoose(event.currentTarget.value)}
      >
        {choices.map((choice) => (
          <option key={choice.value} value={choice.value}>
            {choice.title}
          </option>
        ))}
      </select>
    </Row>
  );
}

// A few choices that exclude each other, all of them in sight.
interface SegmentsProps<T extends string> {
  title: string;
  value: T;
  choices: readonly { value: T; title: string }[];
  onChoose: (value: T) => void;
}

export function OneOf<T extends string>({
  title,
  value,
  choices,
  onChoose,
}: SegmentsProps<T>): JSX.Element {
  const name = useId();
  return (
    <fieldset class="one-of">
      <legend>{title}</legend>
      {choices.map((choice) => (
        <label key={choice.value}>
          <input
            type="radio"
            name={name}
            value={choice.value}
            checked={choice.value === value}
            onChange={() => onChoose(choice.value)}
          />
          <span>{choice.title}</span>
        </label>
      ))}
    </fieldset>
  );
}
