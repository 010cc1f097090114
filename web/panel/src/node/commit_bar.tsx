// SPDX-License-Identifier: Apache-2.0
// What an edit would do, its verdict, and the press that sends it. A caution needs a named person
// and a reason; a refusal cannot be waived. Nothing that somebody else has changed is written over.
import type { JSX } from 'preact';
import { useId } from 'preact/hooks';
import { get, patch, Refused } from '../api/client';
import type { Supposed, Verdict, Wanted } from '../api/types';
import type { HeardNode } from '../feed/state';
import { live, state } from '../feed/store';
import { differences, differencesInWords, patchOf } from '../model/settings';
import { may } from '../session/session';
import { Button, type Acting } from '../ui/act';
import { FindingList, RefusalText } from '../ui/findings';
import { Picture, Shape } from '../ui/shape';
import { useReasons, WhyFields } from '../ui/why_fields';
import { ChangeStages } from './change_stages';
import { discard, rebase, type Draft } from './drafts';
import { whyNot } from './why_not';
import type { Following } from '../ui/use_answer';

const verdicts: Record<Verdict, { level: 'calm' | 'caution' | 'fault'; word: string }> = {
  accepted: { level: 'calm', word: 'Nothing is against it' },
  'needs-waiver': { level: 'caution', word: 'Caution: it needs somebody who answers for it' },
  refused: { level: 'fault', word: 'It cannot be: refused' },
};

const act = 'PATCH /nodes/{node}/settings';

function Conflict({
  node,
  draft,
  theirs,
}: {
  node: HeardNode;
  draft: Draft;
  theirs: Wanted;
}): JSX.Element {
  const change = [...state.value.changes].reverse().find((one) => one.node === node.name);
  return (
    <div class="conflict" role="alert">
      <Shape level="caution" />
      <div>
        <p>
          <b>{change?.who ?? 'Somebody'} changed this node while you were editing</b>:{' '}
          {differencesInWords(draft.base, theirs) || 'the same settings, once more'}
          {change?.why ? ` (${change.why})` : ''}. Nothing of yours was sent, and nothing of theirs
          is lost.
        </p>
        <p class="buttons">
          <Button onPress={() => rebase(node.name, theirs)}>Put my edits on top of theirs</Button>
          <Button onPress={() => discard(node.name)}>Drop my edits</Button>
        </p>
      </div>
    </div>
  );
}

interface Props {
  node: HeardNode;
  draft: Draft;
  verdict: Following<Supposed>;
  acting: Acting;
}

export function CommitBar({ node, draft, verdict, acting }: Props): JSX.Element {
  const reasons = useReasons();
  const becauseId = useId();
  const { rack } = state.value;
  const { answer, old } = verdict;
  const stale = acting.refusal?.outcome === 'stale' ? acting.refusal.wanted : undefined;
  const theirs =
    !acting.busy && node.wanted && node.wanted.revision !== draft.base.revision
      ? node.wanted
      : stale && !acting.busy
        ? stale
        : null;
  const wouldBe = answer?.would_be ?? null;
  const waive = wouldBe === 'needs-waiver' || acting.refusal?.outcome === 'needs-waiver';
  const held = rack?.locked === true;
  // What could not be judged has no verdict, not that of something else.
  const shown = wouldBe && !verdict.refusal ? verdicts[wouldBe] : null;
  const checking = !verdict.refusal && (old || shown === null);
  const because = whyNot({
    live: live.value,
    theirs: node.agreement === 'not-ours',
    held: held ? (rack.lock?.who ?? '') : null,
    crossed: theirs !== null,
    notJudged: verdict.refusal !== null,
    checking,
    refused: wouldBe === 'refused',
    unanswered: waive && !reasons.signed,
  });
  const ready = because === '';

  const send = async (): Promise<void> => {
    if (!ready) return;
    await acting.run(async () => {
      try {
        const answered = await patch(
          '/nodes/{node}/settings',
          { node: node.name },
          {
            ...patchOf(draft.base, draft.settings),
            ...reasons.sent(waive),
          },
          {
            headers: {
              'If-Match': `"${draft.base.revision}"`,
              'Content-Type': 'application/merge-patch+json',
            },
          },
        );
        discard(node.name);
        const seen = answered.node?.seen?.settings;
        const changed = differences(draft.base, seen)
          .map((one) => `${one.title} ${one.after}`)
          .join(', ');
        return `Done: ${node.name} has read back ${changed || 'the same settings as before'}.`;
      } catch (error) {
        // The wanted settings were put back, which is a new revision, but nobody else's.
        if (
          error instanceof Refused &&
          ['failed', 'unreachable'].includes(error.problem.outcome ?? '')
        )
          rebase(node.name, await get('/nodes/{node}/settings', { node: node.name }));
        throw error;
      }
    });
  };

  const fields = !acting.busy && may(act) && !held && !theirs && wouldBe !== 'refused' && (
    <div class="pair">
      <WhyFields reasons={reasons} waive={waive} />
    </div>
  );
  return (
    <form
      class={`commit ${shown?.level ?? ''}${waive && !held && !theirs ? ' waiving' : ''}`}
      aria-label="The change"
      onSubmit={(event) => {
        event.preventDefault();
        void send();
      }}
    >
      <p class="what">
        {differences(draft.base, draft.settings).map((one) => (
          <span key={one.member}>
            {one.title} <s>{one.before}</s> → <b>{one.after}</b>
          </span>
        ))}
      </p>
      <div class="commit-body" role="group" aria-label="What it would do" tabIndex={0}>
        <div class={old ? 'verdict old' : 'verdict'} role="status">
          {shown && (
            <p class="verdict-word">
              <Shape level={shown.level} />
              <b>{shown.word}</b>
              {old && <span class="quiet">of what was before; checking …</span>}
            </p>
          )}
          {!shown && !verdict.refusal && <p class="quiet">Checking …</p>}
          {answer && shown && <FindingList findings={answer.findings} notes={false} />}
        </div>
        <RefusalText refusal={verdict.refusal} />
        {theirs && <Conflict node={node} draft={draft} theirs={theirs} />}
        {acting.busy && <ChangeStages stage={node.change?.stage ?? 'recording'} />}
        {!waive && fields}
        {acting.refusal && !theirs && <RefusalText refusal={acting.refusal} />}
        {!may(act) && <p class="quiet">Your role may look and try out, but not change.</p>}
      </div>
      {waive && fields}
      {!acting.busy && may(act) && (
        <p class={`why-not${checking ? ' checking' : ''}`} id={becauseId}>
          {held && <Picture of="lock" />} {because}
        </p>
      )}
      {!acting.busy && (
        <p class="buttons">
          <Button
            act={act}
            kind="main"
            disabled={!ready}
            describedBy={because ? becauseId : undefined}
            onPress={() => void send()}
          >
            {waive ? 'Change it, in spite of the caution' : 'Change it'}
          </Button>
          <Button
            onPress={() => {
              acting.clear();
              discard(node.name);
            }}
          >
            Drop the edits
          </Button>
        </p>
      )}
    </form>
  );
}
