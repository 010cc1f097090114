// SPDX-License-Identifier: Apache-2.0
// One place to see, acknowledge and shelve.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { post } from '../api/client';
import type { Alarm } from '../api/types';
import { sound } from '../browser/settings_kept';
import { state } from '../feed/store';
import {
  byState,
  followersOf,
  stateTitles,
  type AlarmState,
} from '../model/alarms';
import { plural, shortWhen } from '../model/format';
import { ActButton, Button, useAct } from '../ui/act';
import { ActForm } from '../ui/act_form';
import { ChoiceField } from '../ui/fields';
import { RefusalText } from '../ui/findings';
import { Left } from '../ui/left';
import { LinkTo } from '../ui/link_to';
import { Shape } from '../ui/shape';
import { WhyField } from '../ui/why_fields';
import type { Level } from '../model/condition';

const levels: Record<AlarmState, Level> = {
  active: 'fault',
  returned: 'caution',
  acknowledged: 'caution',
  shelved: 'calm',
};
const howLong = [
  { value: '900', title: '15 minutes' },
  { value: '3600', title: '1 hour' },
  { value: '14400', title: '4 hours' },
  { value: '43200', title: '12 hours' },
  { value: '86400', title: '24 hours' },
];

function Shelve({ alarm, onDone }: { alarm: Alarm; onDone: () => void }): JSX.Element {
  const why = useSignal('');
  const forS = useSignal('3600');
  const acting = useAct();
  const run = async (): Promise<string> => {
    const body = { for_s: Number(forS.value), why: why.value.trim() };
    await post('/alarms/{alarm}/shelve', { alarm: alarm.id }, body);
    return 'Shelved. It comes back by itself when its time is over.';
  };
  return (
    <ActForm
      class="inline-form"
      act="POST /alarms/{alarm}/shelve"
      does="Shelve"
      leaves="Do not"
      acting={acting}
      ready={why.value.trim() !== ''}
      run={run}
      onClose={onDone}
    >
      <ChoiceField
        title="Shelve for"
        value={forS.value}
        choices={howLong}
        onInput={(value) => void (forS.value = value)}
      />
      <WhyField why={why} needed />
    </ActForm>
  );
}

// What follows from an alarm is acknowledged with it.
function Followers({ alarms }: { alarms: readonly Alarm[] }): JSX.Element | null {
  if (alarms.length === 0) return null;
  return (
    <details>
      <summary>
        and {plural(alarms.length, 'alarm that follows from it', 'alarms that follow from it')}
      </summary>
      <ul class="plain-list">
        {alarms.map((alarm) => (
          <li key={alarm.id}>
            <b>{alarm.word}</b> {alarm.sentence}
          </li>
        ))}
      </ul>
    </details>
  );
}

function AlarmText({ alarm, now }: { alarm: Alarm; now: Date }): JSX.Element {
  return (
    <>
      <p class="alarm-what">
        <b>{alarm.word}</b>{' '}
        <LinkTo name={alarm.subject} />
        <span class="quiet">{alarm.priority}</span>
      </p>
      <p>{alarm.sentence}</p>
      <p class="quiet">
        since {shortWhen(alarm.raised_at, now)}
        {alarm.returned_at && `, returned ${shortWhen(alarm.returned_at, now)}`}
        {alarm.acknowledged_by && `, acknowledged by ${alarm.acknowledged_by}`}
      </p>
      {alarm.shelved && (
        <p class="quiet">
          Shelved by {alarm.shelved.by}: {alarm.shelved.why}. Comes back in{' '}
          <Left until={alarm.shelved.until} />.
        </p>
      )}
      <Followers alarms={followersOf(alarm, state.value.alarms)} />
    </>
  );
}

function AlarmRow({ alarm, now }: { alarm: Alarm; now: Date }): JSX.Element {
  const shelving = useSignal(false);
  const acting = useAct();
  const { state: standing, word } = alarm;
  return (
    <li class={`alarm ${standing}`}>
      <Shape level={levels[standing]} />
      <div class="alarm-text">
        <AlarmText alarm={alarm} now={now} />
        <RefusalText refusal={acting.refusal} />
        {shelving.value && <Shelve alarm={alarm} onDone={() => void (shelving.value = false)} />}
      </div>
      <p class="buttons">
        {!alarm.acknowledged && (
          <ActButton
            act="POST /alarms/{alarm}/acknowledge"
            acting={acting}
            label={`Acknowledge: ${word} ${alarm.subject}`}
            run={async () => {
              await post('/alarms/{alarm}/acknowledge', { alarm: alarm.id }, {});
              return `Acknowledged: ${alarm.subject}, ${word}.`;
            }}
          >
            Acknowledge
          </ActButton>
        )}
        {!alarm.shelved && !shelving.value && alarm.active && (
          <Button
            act="POST /alarms/{alarm}/shelve"
            label={`Shelve: ${word} ${alarm.subject}`}
            onPress={() => void (shelving.value = true)}
          >
            Shelve …
          </Button>
        )}
        {alarm.shelved && (
          <ActButton
            act="POST /alarms/{alarm}/unshelve"
            acting={acting}
            run={async () => {
              await post('/alarms/{alarm}/unshelve', { alarm: alarm.id }, {});
              return `Off the shelf: ${alarm.subject}.`;
            }}
          >
            Take off the shelf
          </ActButton>
        )}
      </p>
    </li>
  );
}

// Whoever has seen the list can say so once.
function AcknowledgeAll({ alarms }: { alarms: readonly Alarm[] }): JSX.Element | null {
  const acting = useAct();
  if (alarms.length < 2) return null;
  return (
    <>
      <ActButton
        act="POST /alarms/acknowledge"
        acting={acting}
        run={async () => {
          await post('/alarms/acknowledge', {}, { alarms: alarms.map(({ id }) => id) });
          return `${plural(alarms.length, 'alarm')} acknowledged.`;
        }}
      >
        Acknowledge these {alarms.length}
      </ActButton>
      <RefusalText refusal={acting.refusal} />
    </>
  );
}

export function AlarmsView(): JSX.Element {
  const groups = byState(state.value.alarms);
  const now = new Date();
  return (
    <section class="alarms-view" aria-label="Alarms">
      <div class="tools">
        <h1>Alarms</h1>
        <p class="summary">An alarm goes when it has returned and somebody has acknowledged it.</p>
        <span class="spring" />
        <p class="summary">Sound on this device: {sound.value}</p>
      </div>
      {groups.length === 0 && <p class="none">There is no alarm.</p>}
      {groups.map(({ state: standing, alarms }) => (
        <section key={standing} class="group" aria-label={stateTitles[standing]}>
          <div class="group-head">
            <h2>
              {stateTitles[standing]} <span class="quiet">{alarms.length}</span>
            </h2>
            {(standing === 'active' || standing === 'returned') && (
              <AcknowledgeAll alarms={alarms} />
            )}
          </div>
          <ul class="alarm-list">
            {alarms.map((alarm) => (
              <AlarmRow key={alarm.id} alarm={alarm} now={now} />
            ))}
          </ul>
        </section>
      ))}
    </section>
  );
}
