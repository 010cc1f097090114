// SPDX-License-Identifier: Apache-2.0
// The unit that antennas end in: what feeds what, who hears whom, and how it is set.
import { useComputed, useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { useEffect, useMemo, useRef } from 'preact/hooks';
import { route, toInput } from '../browser/route';
import { ChangeStages } from '../edit/change_stages';
import { CommitBar } from '../edit/commit_bar';
import { Drift } from '../edit/drift';
import { ofMatrices } from '../edit/drafts';
import { matrixInHand } from '../edit/in_hand';
import { matrixActs } from '../edit/matrix_acts';
import { matrixSubject } from '../edit/subject';
import { isTheirs } from '../edit/use_editing';
import type { HeardMatrix } from '../feed/state';
import { state, tick } from '../feed/store';
import { ageOf, isOld, levelOf } from '../model/condition';
import { plural } from '../model/format';
import { idle } from '../model/matrix';
import { may } from '../session/session';
import { Age } from '../ui/age';
import { FindingList, Said } from '../ui/findings';
import { Picture, Shape } from '../ui/shape';
import { Troubles } from '../ui/troubles';
import { useMedia } from '../ui/use_media';
import { withKeys } from '../ui/view_keys';
import { InputPart } from './input_part';
import { OneOutput } from './one_output';
import { OpenEnd } from './passage';
import { RouteTable } from './route_table';
import { UnitPart } from './unit_part';
import { useMatrix, type MatrixEditing } from './use_matrix';
import { useRoving } from './use_roving';

const wide = '(min-width: 48em)';

function Tools({ matrix }: { matrix: HeardMatrix }): JSX.Element {
  const { datasheet } = matrix;
  const all = [...state.value.matrices.keys()];
  return (
    <div class="tools">
      <h1>Routes</h1>
      {all.length > 1 && (
        <select
          class="choose"
          aria-label="Matrix in hand"
          value={matrix.name}
          onChange={(event) =>
            void (location.hash = toInput({ matrix: event.currentTarget.value }))
          }
        >
          {all.map((name) => (
            <option key={name} value={name}>
              {name}
            </option>
          ))}
        </select>
      )}
      <p class="summary">
        {all.length === 1 && <b>{matrix.name}</b>}
        <span class="at-leisure">
          {matrix.stands}; {plural(datasheet.inputs, 'input')},{' '}
          {plural(datasheet.outputs, 'output')}
        </span>
        {idle(matrix).map((words) => (
          <OpenEnd key={words} words={words} />
        ))}
      </p>
      <span class="spring" />
      <p>{matrix.set_from_here ? <Age node={matrix} /> : 'not read: set by hand'}</p>
    </div>
  );
}

// Why nothing, or not all, can be set here now; null: all of it can.
function heldWords(matrix: HeardMatrix): string | null {
  const { rack } = state.value;
  if (!matrix.set_from_here)
    return (
      'Its routes are set by hand, as the rack file says. This shows what stands there; nothing is ' +
      'set from here.'
    );
  if (isTheirs(matrix))
    return 'Another controller has it: it is shown as it is seen, and nothing is set from here.';
  if (!matrix.wanted) return 'It has never been read, so nothing is wanted of it yet.';
  if (!may(matrixActs.set)) return 'Your role may look at the routes, but not change them.';
  if (rack?.locked) {
    const by = rack.lock?.who ? ` by ${rack.lock.who}` : '';
    return `The rack is locked${by}: routes can be tried out here, not sent.`;
  }
  return null;
}

function Standing({ editing }: { editing: MatrixEditing }): JSX.Element {
  const { matrix, acting } = editing;
  const findings = matrix.findings.filter(({ severity }) => severity !== 'note');
  const held = heldWords(matrix);
  return (
    <>
      {levelOf(matrix) !== 'calm' && (
        <Troubles node={matrix} elsewhere={findings.map(({ sentence }) => sentence)} />
      )}
      <FindingList findings={findings} />
      {held && (
        <p class="held">
          {state.value.rack?.locked && <Picture of="lock" />} {held}
        </p>
      )}
      {matrix.change && !acting.busy && (
        <div class="under-way" role="status">
          <p>{matrix.change.who} is changing it.</p>
          <ChangeStages stage={matrix.change.stage} />
        </div>
      )}
      {matrix.set_from_here && <Drift of={matrixSubject(matrix)} />}
    </>
  );
}

function useEscape({ matrix, draft, acting }: MatrixEditing): void {
  const edited = draft !== undefined;
  useEffect(() => {
    if (!edited) return;
    const run = (): void => {
      if (acting.busy) return;
      acting.clear();
      ofMatrices.discard(matrix.name);
    };
    return withKeys([{ key: 'Escape', does: 'Drop the edits', run }]);
  }, [matrix.name, edited, acting.busy]);
}

// Its reading is old; the clock of the page moves that, and nothing is drawn again before.
function useOld(matrix: HeardMatrix): boolean {
  const staleAfter = state.value.rack?.stale_after_ms ?? 0;
  return useComputed(
    () => matrix.seen !== undefined && isOld(matrix, ageOf(matrix, tick.value), staleAfter),
  ).value;
}

// What the marks in the table are, and what a press does.
function HowTo({ editing }: { editing: MatrixEditing }): JSX.Element | null {
  const { matrix, disabled, because } = editing;
  const most = matrix.datasheet.most_summed;
  if (because)
    return (
      <p class="held" role="status">
        <Shape level="caution" /> {because}
      </p>
    );
  if (disabled) return null;
  return (
    <p class="quiet">
      {matrix.agreement === 'drifted' &&
        'The table has what the unit shows; an edit starts from what is wanted. '}
      {most === 1
        ? 'An output hears one input: choosing another replaces it.'
        : `An output hears the sum of up to ${most} inputs.`}{' '}
      Nothing is sent before you press “Change it”.
    </p>
  );
}

function Opened({ matrix, first }: { matrix: HeardMatrix; first: number }): JSX.Element {
  const editing = useMatrix(matrix);
  const { draft, verdict, acting, toggle } = editing;
  const chosen = useSignal(first);
  const place = useRef<HTMLElement>(null);
  const row = Math.max(0, matrix.inputs.findIndex(({ input }) => input === chosen.value));
  const input = matrix.inputs[row];
  const choose = (at: number): void => void (chosen.value = at);
  const roving = useRoving({
    size: { row: matrix.inputs.length, column: matrix.outputs.length + 1 },
    row,
    onRow: (at) => choose(matrix.inputs[at]?.input ?? first),
    onPress: (at) => {
      const [from, to] = [matrix.inputs[at.row], matrix.outputs[at.column - 1]];
      if (from && to) toggle(to.output, from.input);
    },
    onOpen: () =>
      [...(place.current?.querySelectorAll<HTMLElement>('select, input') ?? [])]
        .find((field) => field.offsetParent !== null)
        ?.focus(),
  });
  const table = useMedia(wide);
  useEscape(editing);
  const old = useOld(matrix);
  // Most messages of the feed are about something else, and a large unit has a thousand cells.
  const routes = useMemo(
    () =>
      table ? (
        <RouteTable editing={editing} chosen={input?.input ?? first} roving={roving} />
      ) : (
        <OneOutput editing={editing} chosen={input?.input ?? first} onChoose={choose} />
      ),
    [table, matrix, draft, editing.disabled, row, roving.at.column],
  );
  return (
    <>
      <Standing editing={editing} />
      <div class="routes-work">
        <div class={old ? 'routes-main old-reading' : 'routes-main'}>
          {routes}
          <HowTo editing={editing} />
        </div>
        <aside class="routes-side" aria-label="What is in hand">
          {!draft && <Said text={acting.done} />}
          {input && (
            <InputPart editing={editing} input={input} onChoose={choose} place={place} />
          )}
        </aside>
        <div class="routes-unit">
          <UnitPart editing={editing} />
        </div>
      </div>
      {draft && (
        <CommitBar inHand={matrixInHand(matrix, draft)} verdict={verdict} acting={acting} />
      )}
    </>
  );
}

export function RoutesView(): JSX.Element {
  const { matrices } = state.value;
  const { query } = route.value;
  const matrix = matrices.get(query.get('matrix') ?? '') ?? [...matrices.values()][0];
  if (!matrix)
    return (
      <section class="routes-view" aria-label="Routes">
        <h1>Routes</h1>
        <p class="none">No matrix stands in this rack: its antennas end at the receivers.</p>
      </section>
    );
  const first = Number(query.get('input')) || 1;
  return (
    <section class="routes-view" aria-label={`Routes of ${matrix.name}`}>
      <Tools matrix={matrix} />
      <Opened key={`${matrix.name} ${first}`} matrix={matrix} first={first} />
    </section>
  );
}
