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

type RowProps = Common & { id: string; children: ComponentChildren };

export function Row({ title, allowed, wrong, id, children }: RowProps): JSX.Element {
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
  const { title, allowed, wrong, longest, type = 'text', autocomplete = 'off' } = props;
  const id = useId();
  return (
    <Row title={title} allowed={allowed} wrong={wrong} id={id}>
      <input
        id={id}
        type={type}
        value={props.value}
        disabled={props.disabled}
        required={props.required}
        autocomplete={autocomplete}
        aria-invalid={wrong ? true : undefined}
        aria-describedby={described(id, allowed, wrong)}
        {...(longest === undefined ? {} : { maxLength: longest })}
        onInput={(event) => props.onInput(event.currentTarget.value)}
      />
    </Row>
  );
}

interface ChoiceProps extends Common {
  value: string;
  choices: readonly { value: string; title: string }[];
  onInput: (value: string) => void;
}

export function ChoiceField(props: ChoiceProps): JSX.Element {
  const { title, allowed, wrong } = props;
  const id = useId();
  return (
    <Row title={title} allowed={allowed} wrong={wrong} id={id}>
      <select
        id={id}
        value={props.value}
        disabled={props.disabled}
        aria-invalid={wrong ? true : undefined}
        aria-describedby={described(id, allowed, wrong)}
        onChange={(event) => props.onInput(event.currentTarget.value)}
      >
        {props.choices.map(({ value, title: word }) => (
          <option key={value} value={value}>
            {word}
          </option>
        ))}
      </select>
    </Row>
  );
}

// A few choices that exclude each other, all of them in sight.
interface OneOfProps<T extends string> {
  title: string;
  value: T;
  choices: readonly { value: T; title: string }[];
  onChoose: (value: T) => void;
}

export function OneOf<T extends string>(props: OneOfProps<T>): JSX.Element {
  const name = useId();
  return (
    <fieldset class="one-of">
      <legend>{props.title}</legend>
      {props.choices.map((choice) => (
        <label key={choice.value}>
          <input
            type="radio"
            name={name}
            value={choice.value}
            checked={choice.value === props.value}
            onChange={() => props.onChoose(choice.value)}
          />
          <span>{choice.title}</span>
        </label>
      ))}
    </fieldset>
  );
}
