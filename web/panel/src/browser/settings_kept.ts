// SPDX-License-Identifier: Apache-2.0
// What this browser remembers for its person. A browser that keeps nothing still works.
import { effect, signal, type Signal } from '@preact/signals';

function kept<T extends string>(name: string, standard: T, allowed?: readonly T[]): Signal<T> {
  let first = standard;
  try {
    const found = localStorage.getItem(`catwalk.${name}`) as T | null;
    if (found !== null && (!allowed || allowed.includes(found))) first = found;
  } catch {
    // Storage is switched off.
  }
  const value = signal(first);
  effect(() => {
    const now = value.value;
    try {
      localStorage.setItem(`catwalk.${name}`, now);
    } catch {
      // As above.
    }
  });
  return value;
}

export const theme = kept('theme', 'dark', ['dark', 'light']);
export const sound = kept('sound', 'off', ['off', 'on']);
export const person = kept<string>('name', '');
export const shownAs = kept('shown-as', 'tiles', ['tiles', 'list']);
export const grouping = kept('grouping', 'trouble', ['trouble', 'place', 'line']);

effect(() => {
  document.documentElement.dataset['theme'] = theme.value;
});
