// SPDX-License-Identifier: Apache-2.0
// What an edit would do, its verdict, and the press that sends it. A caution needs a named person
// and a reason, which are asked for when it is pressed: until then the fields that are edited stay in
// sight. A refusal cannot be waived. Nothing that somebody else has changed is written over.
import type { JSX } from 'preact';
import { useSignal } from '@preact/signals';
import { useEffect, useId, useRef } from 'preact/hooks';
import { state } from '../feed/store';
import { inWords } from '../model/settings';
import { may } from '../session/session';
import { Button } from '../ui/act';
import { FindingList, RefusalText, VerdictWord } from '../ui/findings';
import { Picture, Shape } from '../ui/shape';
import { useReasons, WhyFields } from '../ui/why_fields';
import { ChangeStages } from './change_stages';
import type { InHand } from './in_hand';
import type { Revised } from './kept_drafts';
import { standingOf, type Edited, type Standing } from './standing';
import { useFieldInSight } from './use_field_in_sight';

interface ConflictProps<W extends Revised> {
  inHand: InHand<W>;
  theirs: W;
}

function Conflict<W extends Revised>({ inHand, theirs }: ConflictProps<W>): JSX.Element {
  const { name, noun } = inHand;
  const latest = state.value.changes.filter((change) => change.node === name).pop();
  return (
    <div class="conflict" role="alert">
      <Shape level="caution" />
      <div>
        <p>
          <b>{latest?.who ?? 'Somebody'} changed this {noun} while you were editing</b>:{' '}
          {inWords(inHand.against(theirs)) || 'the same settings, once more'}
          {latest?.why ? ` (${latest.why})` : ''}. Nothing of yours was sent, and nothing of theirs
          is lost.
        </p>
        <p class="buttons">
          <Button onPress={() => inHand.rebase(theirs)}>Put my edits on top of theirs</Button>
          <Button onPress={inHand.discard}>Drop my edits</Button>
        </p>
      </div>
    </div>
  );
}

const Edits = ({ edits }: Pick<InHand, 'edits'>): JSX.Element => (
  <p class="what">
    {edits.map(({ member, title, before, after }) => (
      <span key={member}>
        {title} <s>{before}</s> → <b>{after}</b>
      </span>
    ))}
  </p>
);

type Verdict = Pick<Edited<Revised> & Standing<Revised>, 'verdict' | 'judged'>;

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

type SendingProps = Omit<Standing<Revised>, 'theirs'> & {
  act: string;
  onSend: () => void;
  onDrop: () => void;
};

// The press; and why it cannot be pressed.
function Sending(props: SendingProps): JSX.Element {
  const { act, locked, checking, because, waive, asks, onSend, onDrop } = props;
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
        <Button onPress={onDrop}>Drop the edits</Button>
      </p>
    </>
  );
}

// Whether it is asked who answers for the caution: once it is pressed, and about these edits only.
function useAsked({
  base,
  edits: found,
}: Pick<InHand, 'base' | 'edits'>): [asked: boolean, ask: () => void] {
  const about = useSignal('');
  const edits = JSON.stringify([base, found]);
  // Not again where the same edits come back; and never what was pressed for these.
  useEffect(() => {
    if (about.value !== edits) about.value = '';
  }, [edits]);
  return [about.value === edits, () => void (about.value = edits)];
}

// The page below stays where it is: the bar is in sight, and scrolls for itself.
function toFirstEmpty(bar: HTMLElement): void {
  const fields = [...bar.querySelectorAll<HTMLInputElement>('.pair input')];
  const empty = fields.find(({ value }) => value === '');
  if (!empty) return;
  empty.focus({ preventScroll: true });
  bar.scrollTop = empty.offsetTop - bar.clientHeight / 2;
}

export function CommitBar<W extends Revised>(edited: Edited<W>): JSX.Element {
  const { inHand, verdict, acting } = edited;
  const { act } = inHand;
  const reasons = useReasons();
  const [asked, ask] = useAsked(inHand);
  const form = useRef<HTMLFormElement>(null);
  useFieldInSight(form);
  const standing = standingOf(edited, asked, reasons.signed);
  const { theirs, judged, waive, asks, locked, because } = standing;
  useEffect(() => {
    if (asked && form.current) toFirstEmpty(form.current);
  }, [asked]);
  const press = (): void => {
    if (because !== '') return;
    if (asks) ask();
    else void acting.run(() => inHand.send(reasons.sent(waive)));
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
      <Edits edits={inHand.edits} />
      <div class="commit-body" role="group" aria-label="What it would do" tabIndex={0}>
        <VerdictText verdict={verdict} judged={judged} />
        {theirs && <Conflict inHand={inHand} theirs={theirs} />}
        {acting.busy && <ChangeStages stage={inHand.stage ?? 'recording'} />}
        {!waive && fields}
        {!theirs && <RefusalText refusal={acting.refusal} />}
        {!may(act) && <p class="quiet">Your role may look and try out, but not change.</p>}
      </div>
      {waive && fields}
      {!acting.busy && (
        <Sending
          {...standing}
          act={act}
          onSend={press}
          onDrop={() => {
            acting.clear();
            inHand.discard();
          }}
        />
      )}
    </form>
  );
}
