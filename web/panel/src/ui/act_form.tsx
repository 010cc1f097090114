// SPDX-License-Identifier: Apache-2.0
// The end of a dialog: what is asked, why the daemon refused, what is done and how to leave. The key
// that sends does what the button does, where it may.
import type { ComponentChildren, JSX } from 'preact';
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
  onSend: () => void;
  onClose: () => void;
  // Between what the daemon said and the buttons.
  note?: ComponentChildren;
  children: ComponentChildren;
}

export function ActForm(props: Props): JSX.Element {
  const { act, does, leaves, acting, ready = true, onSend, onClose, note, children } = props;
  return (
    <form
      onSubmit={(event) => {
        event.preventDefault();
        if (ready) onSend();
      }}
    >
      {children}
      <RefusalText refusal={acting.refusal} />
      {note}
      <p class="buttons">
        <Button act={act} kind="main" busy={acting.busy} disabled={!ready} onPress={onSend}>
          {does}
        </Button>
        <Button onPress={onClose}>{leaves}</Button>
      </p>
    </form>
  );
}
