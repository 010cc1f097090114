// SPDX-License-Identifier: Apache-2.0
// One node, opened: what it is, what is wrong, how it is set, and what it would be if it were set
// otherwise.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import { get } from '../api/client';
import type { Settings } from '../api/types';
import { activeSegment, span } from '../feed/show';
import type { HeardNode } from '../feed/state';
import { live, state } from '../feed/store';
import { servesWords } from '../model/places';
import { troubles } from '../model/trouble';
import { toView } from '../route';
import { may } from '../session/session';
import { Age } from '../ui/age';
import { useAct } from '../ui/act';
import { FindingList, RefusalText, Said } from '../ui/findings';
import { Picture, Tag } from '../ui/shape';
import { useAnswer } from '../ui/use_answer';
import { AboutSection } from './about_section';
import { ActsRow } from './acts_row';
import { Agreement } from './agreement';
import { allowedFor } from './allowed';
import { BudgetSection } from './budget_section';
import { ChangeStages } from './change_stages';
import { CommitBar } from './commit_bar';
import { drafts, edit } from './drafts';
import { EditForm } from './edit_form';
import { HistorySection } from './history_section';
import { PowerFailsSection } from './power_fails_section';
import { RecommendSection } from './recommend_section';
import { ResponseSection } from './response_section';
import { suppose } from './supposing';

const settle = 120; // ms without a keystroke before the daemon is asked

function Opened({ node }: { node: HeardNode }): JSX.Element {
  const acting = useAct();
  const carrier = useSignal('');
  const form = useRef<HTMLElement>(null);
  const segment = activeSegment.value;
  const draft = drafts.value.get(node.name);
  const { rack } = state.value;
  // Anything that an answer rests on: another question is another answer.
  const conditions = [
    node.name,
    rack?.revision,
    rack?.segment,
    node.seen?.settings,
    node.seen?.passive,
    node.seen?.telemetry.powered,
  ];
  const chosen = carrier.value ? { carrier: carrier.value } : {};

  const allowed = useAnswer(rack ? `${rack.revision} ${node.name}` : null, () =>
    allowedFor(node.name, rack?.revision ?? 0),
  );
  const explained = useAnswer(
    JSON.stringify([conditions, carrier.value]),
    (signal) => get('/nodes/{node}/explain', { node: node.name }, { query: chosen, signal }),
    settle,
  );
  const supposed = useAnswer(
    draft ? JSON.stringify([conditions, carrier.value, draft.settings]) : null,
    (signal) => suppose(node.name, { settings: draft!.settings, ...chosen }, signal),
    settle,
  );

  const base = explained.answer;
  const shown = draft ? supposed.answer : base;
  const chains = shown?.chains ?? base?.chains ?? [];
  const receivers = new Set((base?.chains ?? []).map((chain) => chain.receiver));
  const carriers = (segment?.carriers ?? [])
    .filter(
      (one) => one.use === 'receive' && one.receivers.some((receiver) => receivers.has(receiver)),
    )
    .map((one) => one.name);
  const take = (settings: Settings): void => {
    if (!node.wanted) return;
    acting.clear();
    edit(node.name, node.wanted, settings);
    form.current?.scrollIntoView({ block: 'start' });
  };
  // The verdict grows over the lower half: the field in hand stays above it.
  const verdictIs = draft ? (supposed.answer?.findings.length ?? 0) : -1;
  useEffect(() => {
    const field = document.activeElement;
    if (verdictIs >= 0 && field && form.current?.contains(field))
      field.closest('.field')?.scrollIntoView({ block: 'nearest' });
  }, [verdictIs]);
  const standing = node.findings.filter((finding) => finding.severity !== 'note');

  return (
    <>
      <ul class="troubles">
        {troubles(node)
          .filter((trouble) => trouble.level !== 'calm')
          .map((trouble) => (
            <li key={trouble.word}>
              <Tag level={trouble.level} word={trouble.word} />
              {trouble.sentence &&
                !standing.some(({ sentence }) => sentence === trouble.sentence) && (
                  <span>{trouble.sentence}</span>
                )}
            </li>
          ))}
      </ul>
      {standing.length > 0 && <FindingList findings={standing} />}
      {node.change && !acting.busy && (
        <div class="under-way" role="status">
          <p>{node.change.who} is changing it.</p>
          <ChangeStages stage={node.change.stage} />
        </div>
      )}
      <Agreement node={node} />
      <section class="part form" aria-label="Settings" ref={form}>
        <h2>
          Settings <span class="quiet">{draft ? 'edited here, not sent' : 'as wanted'}</span>
        </h2>
        {!node.wanted && (
          <p class="none">It has never been read, so nothing is wanted of it yet.</p>
        )}
        {node.wanted && (
          <form
            class="settings"
            onSubmit={(event) => {
              event.preventDefault();
              form.current?.parentElement
                ?.querySelector<HTMLButtonElement>('.commit > .buttons .button.main:not(:disabled)')
                ?.click();
            }}
          >
            <EditForm
              settings={draft?.settings ?? node.wanted}
              allowed={allowed.answer}
              refusal={supposed.refusal ?? acting.refusal}
              disabled={!live.value || !may('POST /nodes/{node}/what-if') || acting.busy}
              onEdit={(changed) => {
                acting.clear();
                edit(node.name, node.wanted!, changed);
              }}
            />
            <button type="submit" class="unseen" tabIndex={-1} aria-hidden="true" />
          </form>
        )}
        {!draft && <Said text={acting.done} />}
      </section>
      {draft && <CommitBar node={node} draft={draft} verdict={supposed} acting={acting} />}
      <BudgetSection
        chains={chains}
        unknown={shown?.unknown ?? []}
        old={draft ? supposed.old : explained.old}
        edited={draft !== undefined}
        carriers={carriers}
        carrier={carrier.value}
        onCarrier={(name) => void (carrier.value = name)}
      />
      <RefusalText refusal={explained.refusal} />
      <ResponseSection
        node={node}
        segment={segment}
        span={span.value}
        supposed={supposed.answer?.response ?? null}
        edited={draft !== undefined}
      />
      <RecommendSection node={node} segment={segment} onTake={take} />
      <PowerFailsSection node={node} now={base?.chains ?? []} />
      <HistorySection node={node} />
      <AboutSection node={node} />
    </>
  );
}

export function NodePanel({ name }: { name: string }): JSX.Element {
  const node = state.value.nodes.get(name);
  const title = useRef<HTMLHeadingElement>(null);
  useEffect(() => title.current?.focus({ preventScroll: true }), []);
  return (
    <aside class={drafts.value.has(name) ? 'node editing' : 'node'} aria-labelledby="node-title">
      <header>
        <div>
          <h1 id="node-title" ref={title} tabIndex={-1}>
            {name}
          </h1>
          {node && (
            <p class="quiet">
              {node.hangs}
              {node.serves.length ? `; serves ${servesWords(node)}` : ''}
            </p>
          )}
          {node && (
            <p>
              <Age node={node} />
            </p>
          )}
        </div>
        <a
          class="button bare"
          href={toView('grid')}
          aria-label={`Close ${name}`}
          aria-keyshortcuts="Escape"
        >
          <Picture of="close" />
        </a>
      </header>
      {node && <ActsRow node={node} />}
      {node ? <Opened node={node} /> : <p class="none">There is no node “{name}” in this rack.</p>}
    </aside>
  );
}
