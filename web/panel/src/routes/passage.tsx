// SPDX-License-Identifier: Apache-2.0
// How an input stands to an output, by a mark and a word. Colour comes third.
import type { JSX } from 'preact';
import { passageWords, type Passage } from '../model/matrix';
import { Shape } from '../ui/shape';

// Along, and up: as the thread in the table goes.
const heard = 'M1.5 11h9.5V2.5M7.8 5.4L11 2.2l3.2 3.2';
const marks: Record<Exclude<Passage, 'none' | 'missing' | 'strange'>, string> = {
  heard,
  wanted: heard,
  added: 'M8 2.5v11M2.5 8h11',
  dropped: 'M3.5 3.5l9 9M12.5 3.5l-9 9',
  coming: 'M3 3l5 5-5 5M8.5 3l5 5-5 5',
  going: 'M13 3L8 8l5 5M7.5 3l-5 5 5 5',
};

const Mark = ({ of }: { of: keyof typeof marks }): JSX.Element => (
  <svg class="mark-of-route" viewBox="0 0 16 16" aria-hidden="true" focusable="false">
    <path d={marks[of]} />
  </svg>
);

export function PassageSign({ of }: { of: Passage }): JSX.Element | null {
  if (of === 'none') return null;
  return (
    <span class={`passage ${of}`}>
      {of === 'missing' || of === 'strange' ? <Shape level="caution" /> : <Mark of={of} />}
      <span>{passageWords[of]}</span>
    </span>
  );
}

// An end that leads nowhere.
export const OpenEnd = ({ words }: { words: string }): JSX.Element => (
  <span class="open-end">
    <svg class="mark-of-route" viewBox="0 0 16 16" aria-hidden="true" focusable="false">
      <path d="M1 8h6" />
      <circle cx="11" cy="8" r="3.5" />
    </svg>
    {words}
  </span>
);
