// SPDX-License-Identifier: Apache-2.0
// Says once what became of edits that were not sent when the page was loaded anew.
import type { JSX } from 'preact';
import { list } from '../model/format';
import { Button } from '../ui/act';
import { LinkTo } from '../ui/link_to';
import { Shape } from '../ui/shape';
import type { DraftStore } from './draft_store';
import { ofMatrices, ofNodes } from './drafts';

const stores = [ofNodes, ofMatrices] as const;

// Those that are still not sent.
const keptOf = <Settings,>({ cameBack, drafts }: DraftStore<Settings>): string[] =>
  [...(cameBack.value?.kept.keys() ?? [])].filter((name) => drafts.value.has(name));

export function CameBack(): JSX.Element | null {
  const kept = [...keptOf(ofNodes), ...keptOf(ofMatrices)];
  const dropped = stores.flatMap(({ cameBack }) => cameBack.value?.dropped ?? []);
  if (kept.length + dropped.length === 0) return null;
  return (
    <div class="feed-bar came-back">
      <Shape level="caution" />
      <p role="status">
        {kept.length > 0 && (
          <>
            <b>Edited before this page was loaded anew, and not sent:</b>{' '}
            {kept.map((node, i) => (
              <>
                {i > 0 && ', '}
                <LinkTo name={node} />
              </>
            ))}
            .{' '}
          </>
        )}
        {dropped.length > 0 && (
          <>
            <b>Edits dropped:</b> {list(dropped)}{' '}
            {dropped.length === 1 ? 'has been set otherwise' : 'have been set otherwise'} since.
          </>
        )}
      </p>
      <Button onPress={() => stores.forEach(({ cameBack }) => void (cameBack.value = null))}>
        Seen
      </Button>
    </div>
  );
}
