// SPDX-License-Identifier: Apache-2.0
// A name of the rack, which leads to the page of what has it; plain where nothing has.
import type { JSX } from 'preact';
import { toInput, toNode } from '../browser/route';
import { state } from '../feed/store';

interface Props {
  name: string;
  // Where one that is not there any more leads to.
  otherwise?: string;
}

export function LinkTo({ name, otherwise }: Props): JSX.Element {
  const { nodes, matrices } = state.value;
  if (nodes.has(name)) return <a href={toNode(name)}>{name}</a>;
  if (matrices.has(name)) return <a href={toInput({ matrix: name })}>{name}</a>;
  return otherwise === undefined ? <>{name}</> : <a href={otherwise}>{name}</a>;
}
