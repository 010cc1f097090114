// SPDX-License-Identifier: Apache-2.0
// The picture with one node in front, what can be done to it, and the same in words and numbers.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { useEffect, useLayoutEffect, useMemo } from 'preact/hooks';
import type { Settings } from '../api/types';
import { discard } from '../edit/drafts';
import { isTheirs, useEditing } from '../edit/use_editing';
import type { HeardNode } from '../feed/state';
import { live } from '../feed/store';
import { may } from '../session/session';
import type { Acting } from '../ui/act';
import { Shape } from '../ui/shape';
import { withKeys } from '../ui/view_keys';
import { BesidePicture } from './beside_picture';
import { CarrierTable } from './carrier_table';
import { Legend } from './legend';
import { Picture } from './picture';
import { SightTools } from './sight_tools';
import { slowAfter, useFront, type InFront } from './use_front';
import { useInSight } from './use_in_sight';
import { useFor, useSettled } from './use_lasting';
import type { Told } from './use_spectrum';
import { useSupposed } from './use_supposed';
import { pictureWords, summary } from './words';

const restAfter = 250; // ms

interface OfFront {
  front: InFront;
  edited: boolean;
}

function Sum({ front, edited }: OfFront): JSX.Element {
  const { node, shown, fates, old, products } = front;
  if (!shown) return <p class="none">What {node} passes is not known: it was never read.</p>;
  const sum = summary(fates, products);
  return (
    <p class={old ? 'sum old' : 'sum'}>
      {sum.wrong && <Shape level="fault" />}
      <span>
        <b>{node}</b> {sum.own}
        {sum.rejects ? `; ${sum.rejects}` : ''}; {sum.products}
        {edited && products.length > 0 ? ' as it is set now' : ''}.
        {old && ' Of carriers this is what was said before the last edit.'}
      </span>
    </p>
  );
}

// Read, not watched: while a window is drawn along it has the numbers of before.
function Numbers({ front, edited }: OfFront): JSX.Element {
  const { node, fates, old, products, harmed } = front;
  const settled = useSettled(fates, restAfter);
  const late = useFor(old, restAfter);
  const rows = settled.length > 0 && settled.length === fates.length ? settled : fates;
  return useMemo(
    () => (
      <CarrierTable
        node={node}
        fates={rows}
        old={late}
        products={products}
        harmed={harmed}
        edited={edited}
      />
    ),
    [node, rows, late, products, harmed, edited],
  );
}

function useEscape(node: string, edited: boolean, acting: Acting): void {
  useEffect(() => {
    if (!edited) return;
    return withKeys([
      { key: 'Escape', does: 'Drop the edits', run: () => !acting.busy && discard(node) },
    ]);
  }, [node, edited, acting.busy]);
}

interface Props {
  node: HeardNode;
  told: Told;
  acting: Acting;
  onSelect: (node: string) => void;
}

export function Worktop({ node, told, acting, onSelect }: Props): JSX.Element {
  const { spectrum } = told;
  const editing = useEditing(node, acting);
  const { draft, allowed } = editing;
  const edited = draft !== undefined;
  const supposed = useSupposed(node, draft);
  const front = useFront(node, told, draft, supposed);
  const inSight = useInSight(spectrum);
  const held = useSignal(false);
  const resting = useFor(!held.value && !supposed.old, restAfter);
  const slow = useFor(supposed.old, slowAfter);
  const words = useSettled(pictureWords(front), restAfter);
  useEscape(node.name, edited, acting);
  useLayoutEffect(() => acting.clear(), [node.name]);

  const disabled = !live.value || acting.busy || isTheirs(node);
  const tryOut = may('POST /nodes/{node}/what-if') && (node.wanted !== undefined || isTheirs(node));
  const settings = tryOut ? front.settings : null;
  const change = (changed: Partial<Settings>): void => {
    if (!disabled) editing.change(changed);
  };
  return (
    <div class={`worktop${slow ? ' slow' : ''}${edited && !resting ? ' moving' : ''}`}>
      <div class="in-picture">
        <SightTools front={front} inSight={inSight} />
        <Picture
          spectrum={spectrum}
          front={front}
          inSight={inSight}
          settings={settings}
          allowed={allowed.answer}
          disabled={disabled}
          words={words}
          onSelect={onSelect}
          onEdit={change}
          onHold={(is) => void (held.value = is)}
          onDrop={() => discard(node.name)}
        />
        <Legend {...front} />
        <Sum front={front} edited={edited} />
      </div>
      <BesidePicture
        node={node}
        editing={{ ...editing, change }}
        settings={settings}
        supposed={supposed}
        acting={acting}
        disabled={disabled}
      />
      <div class="under-picture">
        <Numbers front={front} edited={edited} />
      </div>
    </div>
  );
}
