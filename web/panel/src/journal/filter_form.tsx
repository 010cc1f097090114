// SPDX-License-Identifier: Apache-2.0
// What of the journal somebody wants to see.
import type { JSX } from 'preact';
import { state } from '../feed/store';
import { journalKinds } from '../generated/tables';
import { byName } from '../model/condition';
import { Button, type Refusal } from '../ui/act';
import { ChoiceField, TextField } from '../ui/fields';
import { saidAbout } from '../ui/findings';
import { journalKind } from './entries';
import { given, none, type Filters } from './query';

interface Field {
  value: string;
  wrong: string;
  onInput: (value: string) => void;
}

interface Props {
  filters: Filters;
  refusal: Refusal | null;
  onSet: (changed: Partial<Filters>) => void;
}

export function FilterForm({ filters, refusal, onSet }: Props): JSX.Element {
  const names = [...state.value.nodes.values()]
    .sort(byName)
    .map(({ name }) => ({ value: name, title: name }));
  const kinds = journalKinds.map((kind) => ({ value: kind, title: journalKind(kind) }));
  // What all fields have: a value, what the daemon says of it, and another value.
  const of = (name: keyof Filters): Field => ({
    value: filters[name],
    wrong: saidAbout(refusal, `query/${name}`),
    onInput: (value) => onSet({ [name]: value }),
  });
  return (
    <form
      class="filters"
      role="search"
      aria-label="Filters of the journal"
      onSubmit={(event) => event.preventDefault()}
    >
      <ChoiceField
        title="Node"
        {...of('node')}
        choices={[{ value: '', title: 'every node' }, ...names]}
      />
      <ChoiceField
        title="Kind"
        {...of('kind')}
        choices={[{ value: '', title: 'every kind' }, ...kinds]}
      />
      <TextField title="Who" longest={64} {...of('who')} />
      <TextField title="Words" type="search" longest={200} {...of('text')} />
      <TextField title="From" type="datetime-local" {...of('from')} />
      <TextField title="To" type="datetime-local" {...of('to')} />
      {Object.keys(given(filters)).length > 0 && (
        <Button onPress={() => onSet(none)}>Show all</Button>
      )}
    </form>
  );
}
