// SPDX-License-Identifier: Apache-2.0
// Who changed what, when, why, and with what verdict.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { useEffect } from 'preact/hooks';
import { fill, get, isAbort, Refused } from '../api/client';
import type { JournalEntry } from '../api/types';
import { route, toView } from '../browser/route';
import { state } from '../feed/store';
import { zoneOfTimes } from '../model/format';
import { journalKinds } from '../generated/tables';
import { Button, type Refusal } from '../ui/act';
import { ChoiceField, TextField } from '../ui/fields';
import { RefusalText, saidAbout } from '../ui/findings';
import { byName } from '../model/trouble';
import { Entries, journalKind } from './entries';
import { askedFor, filtersIn, given, type Filters } from './query';

const page = 100;

export function JournalView(): JSX.Element {
  const filters = filtersIn(route.value.query);
  const entries = useSignal<readonly JournalEntry[] | null>(null);
  const refusal = useSignal<Refusal | null>(null);
  const more = useSignal(false);
  // A search is bounded: it may have looked at the rows from this one on only.
  const lookedDownTo = useSignal<number | undefined>(undefined);
  const busy = useSignal(false);
  const asked = askedFor(filters);
  const key = JSON.stringify(asked);
  // What may have put a row into the journal. Whoever reads further back is not disturbed.
  const older = (entries.value?.length ?? 0) > page;
  const { changes, rack, switching, alarms, order } = state.value;
  const pulse = JSON.stringify([
    changes.slice(-1).map((change) => [change.id, change.stage]),
    [
      rack?.locked,
      rack?.segment,
      rack?.revision,
      switching?.id,
      switching?.stage,
      order?.armed?.until,
    ],
    alarms.map((alarm) => [alarm.id, alarm.active, alarm.acknowledged, alarm.shelved?.until]),
  ]);

  const load = async (before: number | undefined, signal?: AbortSignal): Promise<void> => {
    busy.value = true;
    try {
      const answer = await get(
        '/journal',
        {},
        { query: { ...asked, before, limit: page }, ...(signal ? { signal } : {}) },
      );
      entries.value =
        before === undefined ? answer.entries : [...(entries.value ?? []), ...answer.entries];
      lookedDownTo.value = answer.looked_down_to;
      more.value = answer.entries.length === page || answer.looked_down_to !== undefined;
      refusal.value = null;
    } catch (error) {
      if (isAbort(error)) return;
      if (!(error instanceof Refused)) throw error;
      refusal.value = error.problem;
    } finally {
      busy.value = false;
    }
  };
  useEffect(() => {
    const stop = new AbortController();
    const soon = setTimeout(() => void load(undefined, stop.signal), 300);
    return () => {
      clearTimeout(soon);
      stop.abort();
    };
  }, [key, older ? '' : pulse]);

  const set = (changed: Partial<Filters>): void => {
    history.replaceState(null, '', toView('journal', given({ ...filters, ...changed })));
    route.value = { ...route.value, query: new URLSearchParams(given({ ...filters, ...changed })) };
  };
  const names = [...state.value.nodes.values()]
    .sort(byName)
    .map(({ name }) => ({ value: name, title: name }));
  const wrong = (name: keyof Filters): string => saidAbout(refusal.value, `query/${name}`);
  return (
    <section class="journal-view" aria-label="Journal">
      <div class="tools">
        <h1>Journal</h1>
        <p class="summary">
          Times are of {zoneOfTimes()}
        </p>
        <span class="spring" />
        <Button busy={busy.value} onPress={() => void load(undefined)}>
          Read again
        </Button>
        <a class="button" href={fill('/journal.csv', {}, asked)} download>
          Save as CSV
        </a>
        <a
          class="button"
          href={fill('/report', {}, { from: asked['from'], to: asked['to'] })}
          target="_blank"
          rel="noopener"
        >
          Report to print
        </a>
      </div>
      <form
        class="filters"
        role="search"
        aria-label="Filters of the journal"
        onSubmit={(event) => event.preventDefault()}
      >
        <ChoiceField
          title="Node"
          value={filters.node}
          wrong={wrong('node')}
          choices={[{ value: '', title: 'every node' }, ...names]}
          onChoose={(node) => set({ node })}
        />
        <ChoiceField
          title="Kind"
          value={filters.kind}
          wrong={wrong('kind')}
          choices={[
            { value: '', title: 'every kind' },
            ...journalKinds.map((kind) => ({ value: kind, title: journalKind(kind) })),
          ]}
          onChoose={(kind) => set({ kind })}
        />
        <TextField
          title="Who"
          longest={64}
          value={filters.who}
          wrong={wrong('who')}
          onInput={(who) => set({ who })}
        />
        <TextField
          title="Words"
          type="search"
          longest={200}
          value={filters.text}
          wrong={wrong('text')}
          onInput={(text) => set({ text })}
        />
        <TextField
          title="From"
          type="datetime-local"
          value={filters.from}
          wrong={wrong('from')}
          onInput={(from) => set({ from })}
        />
        <TextField
          title="To"
          type="datetime-local"
          value={filters.to}
          wrong={wrong('to')}
          onInput={(to) => set({ to })}
        />
        {Object.keys(given(filters)).length > 0 && (
          <Button onPress={() => set({ node: '', kind: '', who: '', text: '', from: '', to: '' })}>
            Show all
          </Button>
        )}
      </form>
      <RefusalText refusal={refusal.value} />
      {entries.value && entries.value.length === 0 && (
        <p class="none">
          {lookedDownTo.value === undefined
            ? 'Nothing in the journal is like this.'
            : 'Nothing so far is like this; older rows have not been looked at yet.'}
        </p>
      )}
      {entries.value && <Entries entries={entries.value} />}
      {more.value && (
        <p class="buttons">
          <Button
            busy={busy.value}
            onPress={() =>
              void load(
                lookedDownTo.value ?? entries.value?.[entries.value.length - 1]?.sequence,
              )
            }
          >
            Older ones
          </Button>
        </p>
      )}
    </section>
  );
}
