// SPDX-License-Identifier: Apache-2.0
// What a person can do. What their role may not do is not offered; while there is no live feed
// nothing can be pressed, since nobody knows what it would be done to.
import { useSignal } from '@preact/signals';
import type { ComponentChildren, JSX, RefObject } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import { isAbort, Refused } from '../api/client';
import { live } from '../feed/store';
import { may } from '../session/session';
import { announce } from './announce';

export type Refusal = Refused['problem'];

export interface Acting {
  busy: boolean;
  refusal: Refusal | null;
  done: string;
  // Runs what is given; what it returns is said to the person.
  run: (what: () => Promise<string | void>) => Promise<boolean>;
  clear: () => void;
}

export function useAct(): Acting {
  const busy = useSignal(false);
  const refusal = useSignal<Refusal | null>(null);
  const done = useSignal('');
  const alive = useRef(true);
  useEffect(() => {
    alive.current = true;
    return () => void (alive.current = false);
  }, []);
  return {
    busy: busy.value,
    refusal: refusal.value,
    done: done.value,
    clear: () => {
      refusal.value = null;
      done.value = '';
    },
    run: async (what) => {
      if (busy.value) return false;
      busy.value = true;
      refusal.value = null;
      done.value = '';
      try {
        const said = (await what()) ?? '';
        if (said) announce(said);
        if (alive.current) done.value = said;
        return true;
      } catch (error) {
        if (isAbort(error)) return false;
        if (!(error instanceof Refused)) throw error;
        announce(error.problem.detail);
        if (alive.current) refusal.value = error.problem;
        return false;
      } finally {
        busy.value = false;
      }
    },
  };
}

interface ButtonProps {
  // "POST /rack/lock": the act in the API, for its role. Absent: anybody may.
  act?: string;
  kind?: 'plain' | 'main' | 'grave';
  disabled?: boolean;
  busy?: boolean;
  children: ComponentChildren;
  onPress: () => void;
  label?: string;
  buttonRef?: RefObject<HTMLButtonElement> | undefined;
  keys?: string;
  describedBy?: string | undefined;
}

export function Button(props: ButtonProps): JSX.Element | null {
  const { act, kind = 'plain', disabled = false, busy = false, buttonRef } = props;
  if (act !== undefined && !may(act)) return null;
  return (
    <button
      type="button"
      class={`button ${kind}`}
      disabled={disabled || busy || (act !== undefined && !live.value)}
      aria-busy={busy}
      aria-label={props.label}
      aria-keyshortcuts={props.keys}
      aria-describedby={props.describedBy}
      // Held: where a dialog closes the key may still be down on what it gives the focus back to.
      onKeyDown={(event) => event.repeat && event.key === 'Enter' && event.preventDefault()}
      onClick={props.onPress}
      {...(buttonRef ? { ref: buttonRef } : {})}
    >
      {props.children}
    </button>
  );
}

type ActProps = Omit<ButtonProps, 'busy' | 'onPress'> & {
  acting: Acting;
  run: () => Promise<string | void>;
};

// Does at once what it says.
export const ActButton = ({ acting, run, ...button }: ActProps): JSX.Element => (
  <Button {...button} busy={acting.busy} onPress={() => void acting.run(run)} />
);
