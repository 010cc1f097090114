// SPDX-License-Identifier: Apache-2.0
// Says once what became of edits that were not sent when the page was loaded anew.
import type { JSX } from 'preact';
import { toNode } from '../browser/route';
import { list } from '../model/format';
import { Button } from '../ui/act';
import { Shape } from '../ui/shape';
import { cameBack, drafts } from './drafts';

export function CameBack(): JSX.Element | null {
  const sorted = cameBack.value;
  if (!sorted) return null;
  const kept = [...sorted.kept.keys()].filter((node) => drafts.value.has(node));
  const { dropped } = sorted;
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
                <a href={toNode(node)}>{node}</a>
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
      <Button onPress={() => void (cameBack.value = null)}>Seen</Button>
    </div>
  );
}
