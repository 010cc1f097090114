// SPDX-License-Identifier: Apache-2.0
// What an edit would do, its verdict, and the press that sends it. A caution needs a named person
// and a reason, which are asked for when it is pressed: until then the fields that are edited stay in
// sight. A refusal cannot be waived. Nothing that somebody else has changed is written over.
import type { JSX } from 'preact';
import { useSignal } from '@preact/signals';
import { useEffect, useId, useRef } from 'preact/hooks';
import type { Wanted } from '../api/types';
import { state } from '../feed/store';
import { differences, differencesInWords } from '../model/settings';
import { may } from '../session/session';
import { Button } from '../ui/act';
import { FindingList, RefusalText, VerdictWord } from '../ui/findings';
import { Picture, Shape } from '../ui/shape';
import { useReasons, WhyFields } from '../ui/why_fields';
import { ChangeStages } from './change_stages';
import { discard, rebase, type Draft } from './drafts';
import { send } from './send';
import { standingOf, type Edited, type Standing } from './standing';
import { useFieldInSight } from './use_field_in_sight';

const act = 'PATCH /nodes/{node}/settings';

interface ConflictProps {
  node: string;
  draft: Draft;
  theirs: Wanted;
}

function Conflict({ node, draft, theirs }: ConflictProps): JSX.Element {
  const latest = state.value.changes.filter((change) => change.node === node).pop();
  return (
    <div class="conflict" role="alert">
      <Shape level="caution" />
      <div>
        <p>
          <b>{latest?.who ?? 'Somebody'} changed this node while you were editing</b>:{' '}
          {differencesInWords(draft.base, theirs) || 'the same settings, once more'}
          {latest?.why ? ` (${latest.why})` : ''}. Nothing of yours was sent, and nothing of theirs
          is lost.
        </p>
        <p class="buttons">
          <Button onPress={() => rebase(node, theirs)}>Put my edits on top of theirs</Button>
          <Button onPress={() => discard(node)}>Drop my edits</Button>
        </p>
      </div>
    </div>
  );
}

const Edits = ({ draft }: { draft: Draft }): JSX.Element => (
  <p class="what">
    {differences(draft.base, draft.settings).map(({ member, title, before, after }) => (
      <span key={member}>
        {title} <s>{before}</s> → <b>{after}</b>
      </span>
    ))}
  </p>
);

type Verdict = Pick<Edited & Standing, 'verdict' | 'judged'>;

function VerdictText({ verdict, judged }: Verdict): JSX.Element {
  const { answer, old, refusal } = verdict;
  return (
    <>
      <div class={old ? 'verdict old' : 'verdict'} role="status">
        {judged && <VerdictWord {...judged}>{old && 'of what was before; checking …'}</VerdictWord>}
        {!judged && !refusal && <p class="quiet">Checking …</p>}
        {answer && judged && <FindingList findings={answer.findings} notes={false} />}
      </div>
      <RefusalText refusal={refusal} />
    </>
  );
}

type SendingProps = Pick<Edited, 'node' | 'acting'> & Standing & { onSend: () => void };

// The press; and why it cannot be pressed.
function Sending(props: SendingProps): JSX.Element {
  const { node, acting, locked, checking, because, waive, asks, onSend } = props;
  const id = useId();
  return (
    <>
      {may(act) && (
        <p class={`why-not${checking ? ' checking' : ''}`} id={id}>
          {locked && <Picture of="lock" />} {because}
        </p>
      )}
      <p class="buttons">
        <Button
          act={act}
          kind="main"
          disabled={because !== ''}
          describedBy={because ? id : undefined}
          onPress={onSend}
        >
          {waive ? `Change it, in spite of the caution${asks ? ' …' : ''}` : 'Change it'}
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
    </>
  );
}

// Whether it is asked who answers for the caution: once it is pressed, and about these edits only.
function useAsked(draft: Draft): [asked: boolean, ask: () => void] {
  const about = useSignal('');
  const edits = JSON.stringify(draft);
  // Not again where the same edits come back; and never what was pressed for these.
  useEffect(() => {
    if (about.value !== edits) about.value = '';
  }, [edits]);
  return [about.value === edits, () => void (about.value = edits)];
}

export function CommitBar(edited: Edited): JSX.Element {
  const { node, draft, verdict, acting } = edited;
  const reasons = useReasons();
  const [asked, ask] = useAsked(draft);
  const form = useRef<HTMLFormElement>(null);
  useFieldInSight(form);
  const standing = standingOf(edited, asked, reasons.signed);
  const { theirs, judged, waive, asks, locked, because } = standing;
  useEffect(() => {
    const empty = [...(form.current?.querySelectorAll<HTMLInputElement>('.pair input') ?? [])];
    if (asked) empty.find(({ value }) => value === '')?.focus();
  }, [asked]);
  const press = (): void => {
    if (because !== '') return;
    if (asks) ask();
    else void acting.run(() => send(node.name, draft, reasons.sent(waive)));
  };
  const fits = !acting.busy && may(act) && !locked && !theirs && !standing.refused;
  const fields = fits && !asks && (
    <div class="pair">
      <WhyFields reasons={reasons} waive={waive} />
    </div>
  );
  return (
    <form
      class={`commit ${judged?.level ?? ''}${waive && fields ? ' waiving' : ''}`}
      ref={form}
      aria-label="The change"
      onSubmit={(event) => {
        event.preventDefault();
        press();
      }}
    >
      <Edits draft={draft} />
      <div class="commit-body" role="group" aria-label="What it would do" tabIndex={0}>
        <VerdictText verdict={verdict} judged={judged} />
        {theirs && <Conflict node={node.name} draft={draft} theirs={theirs} />}
        {acting.busy && <ChangeStages stage={node.change?.stage ?? 'recording'} />}
        {!waive && fields}
        {!theirs && <RefusalText refusal={acting.refusal} />}
        {!may(act) && <p class="quiet">Your role may look and try out, but not change.</p>}
      </div>
      {waive && fields}
      {!acting.busy && (
        <Sending
          node={node}
          acting={acting}
          {...standing}
          onSend={press}
        />
      )}
    </form>
  );
}
