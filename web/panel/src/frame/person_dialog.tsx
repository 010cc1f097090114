// SPDX-License-Identifier: Apache-2.0
// Who is here, and how the page looks and sounds to them.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { tryOut } from '../alarms/sound';
import type { Session } from '../api/types';
import { person, sound, theme } from '../browser/settings_kept';
import { dateAndTime } from '../model/format';
import { isName, role, signOut, standing } from '../session/session';
import { Button } from '../ui/act';
import { Dialog } from '../ui/dialog';
import { OneOf, TextField } from '../ui/fields';

const rights = {
  watch: 'look at everything, and change nothing',
  operate: 'look, change settings, switch, lock, and acknowledge',
  engineer: 'do everything',
} as const;

const SignedIn = ({ session }: { session: Session }): JSX.Element => (
  <>
    <p>
      You are <b>{session.name}</b> with the role <b>{role.value}</b>: you may {rights[role.value]}.
      {session.expires_at && ` The session ends at ${dateAndTime(session.expires_at)}.`}
    </p>
    <p class="buttons">
      <Button onPress={() => void signOut()}>Sign out</Button>
    </p>
  </>
);

function Naming({ onClose }: { onClose: () => void }): JSX.Element {
  const name = useSignal(person.value);
  const wrong =
    name.value !== '' && !isName(name.value)
      ? 'Allowed are 1 to 64 letters, figures and signs of any script.'
      : undefined;
  const keep = (): void => {
    if (wrong) return;
    person.value = name.value;
    onClose();
  };
  return (
    <form
      onSubmit={(event) => {
        event.preventDefault();
        keep();
      }}
    >
      <p>
        This rack asks for no login: whoever reaches it may {rights.engineer}. Say who you are, so
        that the journal knows.
      </p>
      <TextField
        title="Your name"
        allowed="stands in the journal; kept in this browser"
        wrong={wrong}
        longest={64}
        value={name.value}
        onInput={(text) => void (name.value = text)}
        autocomplete="username"
      />
      <p class="buttons">
        <Button
          kind="main"
          disabled={wrong !== undefined || name.value === person.value}
          onPress={keep}
        >
          Keep the name
        </Button>
      </p>
    </form>
  );
}

export function PersonDialog({ onClose }: { onClose: () => void }): JSX.Element {
  const session = standing.value.at === 'in' ? standing.value.session : null;
  return (
    <Dialog title="You, and this page" open onClose={onClose}>
      {session?.tokens ? <SignedIn session={session} /> : <Naming onClose={onClose} />}
      {session?.without_tls_because !== undefined && (
        <p class="care">
          Other machines are served without encryption: whoever listens on the network can read what
          they say. The rack file gives the reason: {session.without_tls_because}
        </p>
      )}
      <OneOf
        title="Light"
        value={theme.value}
        choices={[
          { value: 'dark', title: 'Dark' },
          { value: 'light', title: 'Daylight' },
        ]}
        onChoose={(value) => void (theme.value = value)}
      />
      <OneOf
        title="Sound of a new alarm, on this device"
        value={sound.value}
        choices={[
          { value: 'off', title: 'Off' },
          { value: 'on', title: 'On' },
        ]}
        onChoose={(value) => {
          sound.value = value;
          if (value === 'on') tryOut();
        }}
      />
    </Dialog>
  );
}
