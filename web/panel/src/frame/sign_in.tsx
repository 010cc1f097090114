// SPDX-License-Identifier: Apache-2.0
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { signIn } from '../session/session';
import type { Refusal } from '../ui/act';
import { RefusalText } from '../ui/findings';
import { TextField } from '../ui/fields';

export function SignIn({ because }: { because: string | undefined }): JSX.Element {
  const token = useSignal('');
  const busy = useSignal(false);
  const refusal = useSignal<Refusal | null>(null);
  const send = async (): Promise<void> => {
    if (busy.value || !token.value.trim()) return;
    busy.value = true;
    refusal.value = await signIn(token.value.trim());
    busy.value = false;
  };
  return (
    <main class="sign-in">
      <h1>Catwalk</h1>
      {because && <p>{because}</p>}
      <form
        onSubmit={(event) => {
          event.preventDefault();
          void send();
        }}
      >
        <TextField
          title="Token"
          type="password"
          allowed="from whoever keeps this rack"
          autocomplete="current-password"
          value={token.value}
          onInput={(text) => void (token.value = text)}
        />
        <RefusalText refusal={refusal.value} />
        <p class="buttons">
          <button
            type="submit"
            class="button main"
            disabled={busy.value || !token.value.trim()}
            aria-busy={busy.value}
          >
            Sign in
          </button>
        </p>
      </form>
    </main>
  );
}
