// SPDX-License-Identifier: Apache-2.0
// The end of a dialog: what is asked, why the daemon refused, what is done and how to leave. The key
// that sends does what the button does, where it may.
import type { ComponentChildren, JSX, RefObject } from 'preact';
import { Button, type Acting } from './act';
import { RefusalText } from './findings';

interface Props {
  // As a Button has it.
  act: string;
  // The words of the two buttons.
  does: string;
  leaves: string;
  acting: Acting;
  ready?: boolean;
  // What it returns is said to the person.
  run: () => Promise<string>;
  onClose: () => void;
  // Absent: it is closed.
  onDone?: () => void;
  // Between what the daemon said and the buttons.
  note?: ComponentChildren;
  class?: string;
  buttonRef?: RefObject<HTMLButtonElement>;
  children: ComponentChildren;
}

export function ActForm(props: Props): JSX.Element {
  const { act, does, leaves, acting, ready = true, run, onClose, onDone = onClose } = props;
  const send = async (): Promise<void> => {
    if (ready && (await acting.run(run))) onDone();
  };
  return (
    <form
      class={props.class}
      onSubmit={(event) => {
        event.preventDefault();
        void send();
      }}
    >
      {props.children}
      <RefusalText refusal={acting.refusal} />
      {props.note}
      <p class="buttons">
        <Button
          act={act}
          kind="main"
          busy={acting.busy}
          disabled={!ready}
          buttonRef={props.buttonRef}
          onPress={() => void send()}
        >
          {does}
        </Button>
        <Button onPress={onClose}>{leaves}</Button>
      </p>
    </form>
  );
}
