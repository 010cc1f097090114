// SPDX-License-Identifier: Apache-2.0
// Enter and Space press a button again and again while they are held, and Space when it is let go.
// Where a press counts, only a key that goes down there, for the first time, is one.
interface Held {
  key: string;
  repeat: boolean;
  target: EventTarget | null;
  preventDefault: () => void;
}

const presses = (key: string): boolean => key === 'Enter' || key === ' ';
// Spaces are written there, one after the other if the key is held.
const writes = ({ key, target }: Held): boolean =>
  key === ' ' &&
  typeof HTMLElement !== 'undefined' &&
  target instanceof HTMLElement &&
  target.matches('input:not([type=checkbox], [type=radio], [type=button]), textarea');

export function onlyFresh(): { down: (event: Held) => void; up: (event: Held) => void } {
  const fresh = new Set<string>();
  return {
    down: (event) => {
      if (!presses(event.key) || writes(event)) return;
      if (event.repeat) event.preventDefault();
      else fresh.add(event.key);
    },
    up: (event) => {
      if (!presses(event.key) || writes(event)) return;
      if (!fresh.delete(event.key)) event.preventDefault();
    },
  };
}
