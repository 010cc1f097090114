// SPDX-License-Identifier: Apache-2.0
// The crew sheet: what people do on the way, ticked off by whoever does it and seen by all.
import type { JSX } from 'preact';
import { useRef } from 'preact/hooks';
import { get, post } from '../api/client';
import type { CrewRow, CrewSheet, Switch } from '../api/types';
import { titleOf } from '../feed/show';
import { daemonClock, live, state } from '../feed/store';
import { list, plural, shortWhen } from '../model/format';
import { groupsOf } from '../model/crew';
import { may } from '../session/session';
import { Button, useAct } from '../ui/act';
import { RefusalText } from '../ui/findings';
import { Shape } from '../ui/shape';
import { useAnswer } from '../ui/use_answer';

interface Way {
  from: string;
  to: string;
}

const acts = {
  tick: '/segments/{segment}/crew-sheet/tick',
  untick: '/segments/{segment}/crew-sheet/untick',
} as const;

function whose(row: CrewRow): string {
  const words = [
    row.receivers.length > 0 ? `heard by ${list(row.receivers)}` : '',
    row.held_by ? `held by ${row.held_by}` : '',
  ];
  return words.filter(Boolean).join('; ');
}

// Each row is sent by itself, so that two thumbs may tick at once.
function CrewLine({ way, row }: { way: Way; row: CrewRow }): JSX.Element {
  const acting = useAct();
  const done = row.ticked !== undefined;
  const change = (): void =>
    void acting.run(async () => {
      const body = { from: way.from, rows: [row.key] };
      await post(done ? acts.untick : acts.tick, { segment: way.to }, body);
      return `${row.what}: ${done ? 'not done after all' : 'done'}.`;
    });
  return (
    <li class={done ? 'crew-row done' : 'crew-row'}>
      <label>
        <input
          type="checkbox"
          checked={done}
          disabled={!live.value || !may(`POST ${acts.tick}`)}
          aria-busy={acting.busy}
          onChange={(event) => {
            // What stands there is what the feed has told, not what was pressed.
            event.currentTarget.checked = done;
            change();
          }}
        />
        <span class="crew-what">
          <span>{row.what}</span>
          {whose(row) && <span class="quiet">{whose(row)}</span>}
          {row.ticked && (
            <span class="quiet">
              {row.ticked.who}, {shortWhen(row.ticked.at, new Date(daemonClock()))}
            </span>
          )}
        </span>
      </label>
      <RefusalText refusal={acting.refusal} />
    </li>
  );
}

// On paper there is a copy of this sheet, alone: so it takes the pages that it needs, and no more.
function print(sheet: HTMLElement | null): void {
  if (!sheet) return;
  const paper = document.createElement('div');
  paper.className = 'paper';
  paper.append(sheet.cloneNode(true));
  document.body.append(paper);
  document.body.classList.add('on-paper');
  const over = (): void => {
    paper.remove();
    document.body.classList.remove('on-paper');
  };
  addEventListener('afterprint', over, { once: true });
  window.print();
}

// As it is ticked by now: asked for anew when the feed tells of a tick.
function useTicked(asked: CrewSheet): CrewSheet {
  const { from, to } = asked;
  const { rack, ticks } = state.value;
  const own = ticks.filter((tick) => tick.from === from && tick.to === to);
  const { answer } = useAnswer(
    asked.rows.length > 0 ? JSON.stringify([from, to, rack?.revision, own]) : null,
    (signal) =>
      get('/segments/{segment}/crew-sheet', { segment: to }, { signal, query: { from } }),
  );
  return answer?.from === from && answer.to === to ? answer : asked;
}

export function CrewPart({ sheet }: { sheet: CrewSheet }): JSX.Element {
  const part = useRef<HTMLDivElement>(null);
  const { rows } = useTicked(sheet);
  const ticked = rows.filter((row) => row.ticked).length;
  return (
    <div class="crew" role="group" aria-label="Crew sheet" ref={part}>
      <h3>
        Crew sheet{' '}
        <span class="quiet">
          {titleOf(sheet.from)} → {titleOf(sheet.to)}
          {rows.length === 0
            ? ': nothing for people to do'
            : `: ${plural(rows.length, 'thing')} to do, ${ticked} ticked`}
        </span>
      </h3>
      {groupsOf(rows).map((group) => (
        <div key={group.moment}>
          <h4>{group.heading}</h4>
          <ul>
            {group.rows.map((row) => (
              <CrewLine key={row.key} way={sheet} row={row} />
            ))}
          </ul>
        </div>
      ))}
      {rows.length > 0 && (
        <p class="buttons">
          <Button onPress={() => print(part.current)}>Print the crew sheet</Button>
        </p>
      )}
    </div>
  );
}

// A warning, which holds nobody: the show goes on.
export function NotTicked({ sentence }: { sentence: string }): JSX.Element | null {
  if (!sentence) return null;
  return (
    <p class="not-ticked">
      <Shape level="caution" />
      <span>{sentence}</span>
    </p>
  );
}

export const NotTickedOf = ({ sheet }: { sheet: CrewSheet }): JSX.Element | null => (
  <NotTicked sentence={useTicked(sheet).not_ticked ?? ''} />
);

// Of the switch that is under way, or was done last: what comes on is ticked now.
export function CrewOfSwitch({ now }: { now: Switch }): JSX.Element | null {
  const { rack } = state.value;
  const goes = !now.ended || (now.stage === 'done' && rack?.segment === now.to);
  const question =
    goes && !now.restores && now.from !== now.to
      ? JSON.stringify([now.from, now.to, rack?.revision])
      : null;
  const { answer } = useAnswer(
    question,
    (signal) =>
      get(
        '/segments/{segment}/crew-sheet',
        { segment: now.to },
        { signal, query: { from: now.from } },
      ),
    0,
  );
  if (!question || answer?.from !== now.from || answer.to !== now.to || answer.rows.length === 0)
    return null;
  return (
    <section class="triggers" aria-label="Crew sheet, under way">
      <h2>{now.ended ? 'What people do for the last switch' : 'What people do meanwhile'}</h2>
      <CrewPart sheet={answer} />
    </section>
  );
}
