// SPDX-License-Identifier: Apache-2.0
// Sends a draft, which is gone when the node has read it back; and says what it has read back.
import { get, patch, Refused } from '../api/client';
import { differences, patchOf } from '../model/settings';
import type { Reasons } from '../ui/why_fields';
import { discard, rebase, type Draft } from './drafts';

export async function send(
  node: string,
  { base, settings }: Draft,
  words: ReturnType<Reasons['sent']>,
): Promise<string> {
  const path = '/nodes/{node}/settings';
  try {
    const answered = await patch(
      path,
      { node },
      { ...patchOf(base, settings), ...words },
      {
        headers: {
          'If-Match': `"${base.revision}"`,
          'Content-Type': 'application/merge-patch+json',
        },
      },
    );
    discard(node);
    const changed = differences(base, answered.node?.seen?.settings)
      .map(({ title, after }) => `${title} ${after}`)
      .join(', ');
    return `Done: ${node} has read back ${changed || 'the same settings as before'}.`;
  } catch (error) {
    // The wanted settings were put back, which is a new revision, but nobody else's.
    if (error instanceof Refused && ['failed', 'unreachable'].includes(error.problem.outcome ?? ''))
      rebase(node, await get(path, { node }));
    throw error;
  }
}
