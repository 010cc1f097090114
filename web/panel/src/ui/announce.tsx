// SPDX-License-Identifier: Apache-2.0
// What is said to a screen reader, beside what stands on the page.
import { signal } from '@preact/signals';
import type { JSX } from 'preact';

const said = signal('');

export function announce(text: string): void {
  // The same words twice are said twice.
  said.value = text === said.value ? `${text}\u00a0` : text;
}

export const Announcer = (): JSX.Element => (
  <p class="unseen" role="status" aria-live="polite">
    {said.value}
  </p>
);
