// SPDX-License-Identifier: Apache-2.0
// What the marks in the picture mean.
import type { ComponentChildren, JSX } from 'preact';
import type { InFront } from './use_front';

interface Props {
  level?: string;
  children: ComponentChildren;
}

const Mark = ({ level, children }: Props): JSX.Element => (
  <svg class={level} viewBox="0 0 14 20" aria-hidden="true">
    {children}
  </svg>
);

export const Legend = ({ products, harmed }: InFront): JSX.Element => (
  <ul class="legend" aria-label="Marks in the picture">
    <li>
      <Mark>
        <path d="M7 20V10" />
        <circle cx="7" cy="6" r="4" />
      </Mark>
      microphone, at its level at the antenna
    </li>
    <li>
      <Mark>
        <path d="M5.5 20V10M8.5 20V10M7 1l5.5 9h-11z" />
      </Mark>
      transmits: the show's own
    </li>
    <li>
      <Mark>
        <path class="thick" d="M7 20V6" />
      </Mark>
      the same behind the node: what is left of it
    </li>
    <li>
      <Mark>
        <path class="thin" d="M0 14C5 14 4 6 7 6s2 8 7 8" />
      </Mark>
      another node: tap it to have it in front
    </li>
    {products.length > 0 && (
      <li>
        <Mark level={harmed.size > 0 ? 'caution' : ''}>
          <path d="M7 20V15M7 1l6 7-6 7-6-7z" />
        </Mark>
        product of two or three carriers{harmed.size > 0 ? ', too strong' : ''}
      </li>
    )}
  </ul>
);
