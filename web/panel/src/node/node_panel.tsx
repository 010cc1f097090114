// SPDX-License-Identifier: Apache-2.0
// One node, opened: what it is, what is wrong, how it is set, and what it would be if it were set
// otherwise.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import type { Settings } from '../api/types';
import { toView } from '../browser/route';
import { ActsRow } from '../edit/acts_row';
import { ChangeStages } from '../edit/change_stages';
import { CommitBar } from '../edit/commit_bar';
import { drafts } from '../edit/drafts';
import { Drift } from '../edit/drift';
import { nodeInHand } from '../edit/in_hand';
import { nodeSubject } from '../edit/subject';
import { useEditing } from '../edit/use_editing';
import { activeSegment } from '../feed/show';
import type { HeardNode } from '../feed/state';
import { state } from '../feed/store';
import { servesWords } from '../model/places';
import { Age } from '../ui/age';
import { useAct } from '../ui/act';
import { FindingList, RefusalText } from '../ui/findings';
import { Picture } from '../ui/shape';
import { Troubles } from '../ui/troubles';
import { AboutSection } from './about_section';
import { BudgetSection } from './budget_section';
import { CableEnd } from './cable_end';
import { HistorySection } from './history_section';
import { PowerFailsSection } from './power_fails_section';
import { RecommendSection } from './recommend_section';
import { ResponseSection } from './response_section';
import { SettingsSection } from './settings_section';
import { useExplained } from './use_explained';

// What is wrong with it, and who else is at it.
function Standing({ node, busy }: { node: HeardNode; busy: boolean }): JSX.Element {
  const findings = node.findings.filter(({ severity }) => severity !== 'note');
  return (
    <>
      <Troubles node={node} elsewhere={findings.map(({ sentence }) => sentence)} />
      <FindingList findings={findings} />
      {node.change && !busy && (
        <div class="under-way" role="status">
          <p>{node.change.who} is changing it.</p>
          <ChangeStages stage={node.change.stage} />
        </div>
      )}
      <Drift of={nodeSubject(node)} />
    </>
  );
}

function Opened({ node }: { node: HeardNode }): JSX.Element {
  const acting = useAct();
  const carrier = useSignal('');
  const form = useRef<HTMLElement>(null);
  const segment = activeSegment.value;
  const editing = useEditing(node, acting);
  const { draft, change } = editing;
  const edited = draft !== undefined;
  const { explained, supposed } = useExplained(node, draft, carrier.value);
  const take = (settings: Settings): void => {
    change(settings);
    if (node.wanted) form.current?.scrollIntoView({ block: 'start' });
  };
  return (
    <>
      <Standing node={node} busy={acting.busy} />
      <SettingsSection
        node={node}
        editing={editing}
        refusal={supposed.refusal}
        acting={acting}
        place={form}
      />
      {draft && <CommitBar inHand={nodeInHand(node, draft)} verdict={supposed} acting={acting} />}
      <BudgetSection
        explained={explained}
        supposed={edited ? supposed : null}
        carrier={carrier}
      />
      <RefusalText refusal={explained.refusal} />
      <ResponseSection
        node={node}
        segment={segment}
        supposed={supposed.answer?.response ?? null}
        edited={edited}
      />
      <RecommendSection node={node} segment={segment} onTake={take} />
      <PowerFailsSection node={node} now={explained.answer?.chains ?? []} />
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
          {node?.fed_by && <CableEnd at={node.fed_by} />}
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
      {node && <ActsRow of={nodeSubject(node)} />}
      {node ? <Opened node={node} /> : <p class="none">There is no node “{name}” in this rack.</p>}
    </aside>
  );
}
