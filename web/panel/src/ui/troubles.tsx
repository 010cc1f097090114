// SPDX-License-Identifier: Apache-2.0
// What is wrong with a node or a matrix, in words; and each in a sentence, unless that stands elsewhere.
import type { JSX } from 'preact';
import type { Node } from '../api/types';
import { Tag } from './shape';

interface Props {
  node: Pick<Node, 'conditions'>;
  // Absent: no sentences.
  elsewhere?: readonly string[];
}

export const Troubles = ({ node, elsewhere }: Props): JSX.Element => (
  <ul class="troubles">
    {node.conditions
      .filter(({ level }) => level !== 'calm')
      .map(({ level, word, sentence }) => (
        <li key={word}>
          <Tag level={level} word={word} />
          {elsewhere && sentence && !elsewhere.includes(sentence) && <span>{sentence}</span>}
        </li>
      ))}
  </ul>
);
