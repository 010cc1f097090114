// SPDX-License-Identifier: Apache-2.0
// Who changed what, when, why, and with what verdict.
import type { JSX } from 'preact';
import { fill } from '../api/client';
import { route, toView } from '../browser/route';
import { zoneOfTimes } from '../model/format';
import { Button } from '../ui/act';
import { RefusalText } from '../ui/findings';
import { Entries } from './entries';
import { FilterForm } from './filter_form';
import { askedFor, filtersIn, given, type Filters } from './query';
import { useJournal } from './use_journal';

export function JournalView(): JSX.Element {
  const filters = filtersIn(route.value.query);
  const asked = askedFor(filters);
  const { entries, refusal, busy, lookedDownTo, again, older } = useJournal(asked);
  const set = (changed: Partial<Filters>): void => {
    const query = given({ ...filters, ...changed });
    history.replaceState(null, '', toView('journal', query));
    route.value = { ...route.value, query: new URLSearchParams(query) };
  };
  return (
    <section class="journal-view" aria-label="Journal">
      <div class="tools">
        <h1>Journal</h1>
        <p class="summary">Times are of {zoneOfTimes()}</p>
        <span class="spring" />
        <Button busy={busy} onPress={again}>
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
      <FilterForm filters={filters} refusal={refusal} onSet={set} />
      <RefusalText refusal={refusal} />
      {entries?.length === 0 && (
        <p class="none">
          {lookedDownTo === undefined
            ? 'Nothing in the journal is like this.'
            : 'Nothing so far is like this; older rows have not been looked at yet.'}
        </p>
      )}
      {entries && <Entries entries={entries} />}
      {older && (
        <p class="buttons">
          <Button busy={busy} onPress={older}>
            Older ones
          </Button>
        </p>
      )}
    </section>
  );
}
