// SPDX-License-Identifier: Apache-2.0
// State is told by shape and word; colour comes third. Each level has an outline of its own.
import type { JSX } from 'preact';
import type { Severity } from '../api/types';
import type { View } from '../browser/route';
import type { Level } from '../model/condition';

const levels: Record<Level, JSX.Element> = {
  // Filled octagon with a cross.
  fault: (
    <>
      <path class="fill" d="M5 1h6l4 4v6l-4 4H5l-4-4V5z" />
      <path class="cut" d="M5.2 5.2l5.6 5.6M10.8 5.2l-5.6 5.6" />
    </>
  ),
  // Open triangle with a bar.
  caution: (
    <>
      <path class="open" d="M8 1.8l6.6 12H1.4z" />
      <path class="open" d="M8 6v4M8 11.6v.4" />
    </>
  ),
  // Two chevrons.
  moving: <path class="open" d="M3 3l5 5-5 5M8.5 3l5 5-5 5" />,
  // A tick, quiet.
  calm: <path class="open" d="M2.5 8.5l3.6 3.6 7.4-8" />,
};

export const Shape = ({ level }: { level: Level }): JSX.Element => (
  <svg class={`shape ${level}`} viewBox="0 0 16 16" aria-hidden="true" focusable="false">
    {levels[level]}
  </svg>
);

export const levelOfSeverity = (severity: Severity): Level =>
  severity === 'refuse' ? 'fault' : severity === 'caution' ? 'caution' : 'calm';

const pictures: Record<
  View | 'lock' | 'unlock' | 'close' | 'search' | 'person' | 'help' | 'link',
  string
> = {
  grid: 'M2 4.5h20M6 4.5v5M12 4.5v9M18 4.5v5M3.5 12.5a2.5 2.5 0 0 1 5 0zM9.5 16.5a2.5 2.5 0 0 1 5 0zM15.5 12.5a2.5 2.5 0 0 1 5 0z',
  spectrum: 'M2 20h20M4 20l3-9 3 9M10 20l3-15 3 15M17 20l1.5-6 1.5 6',
  order: 'M4 5h9M4 10h9M4 15h6M17 4v15M13.5 15.5L17 19l3.5-3.5',
  journal: 'M5 3h14v18H5zM8.5 7.5h7M8.5 11.5h7M8.5 15.5h4',
  alarms: 'M6 17V11a6 6 0 0 1 12 0v6M3.5 17h17M10 20.5h4',
  routes: 'M2 6h13v14M2 13h6v7M15 20l-2.5-3M15 20l2.5-3M8 20l-2.5-3M8 20l2.5-3M15 6h7',
  lock: 'M6 11h12v9H6zM8.5 11V7.5a3.5 3.5 0 0 1 7 0V11',
  unlock: 'M6 11h12v9H6zM8.5 11V6.5a3.5 3.5 0 0 1 7-.8',
  close: 'M5 5l14 14M19 5L5 19',
  search: 'M10.5 4a6.5 6.5 0 1 1 0 13 6.5 6.5 0 0 1 0-13zM15.5 15.5L21 21',
  person: 'M12 4a4 4 0 1 1 0 8 4 4 0 0 1 0-8zM4 21c0-5 4-6.5 8-6.5s8 1.5 8 6.5',
  help: 'M8.5 9a3.5 3.5 0 1 1 5 3.2c-1 .5-1.5 1-1.5 2.3M12 18v.5',
  link: 'M4 12h16M14 6l6 6-6 6',
};

export const Picture = ({ of }: { of: keyof typeof pictures }): JSX.Element => (
  <svg class="picture" viewBox="0 0 24 24" aria-hidden="true" focusable="false">
    <path d={pictures[of]} />
  </svg>
);

export const Tag = ({ level, word }: { level: Level; word: string }): JSX.Element => (
  <span class={`tag ${level}`}>
    <Shape level={level} />
    <span>{word}</span>
  </span>
);
