// SPDX-License-Identifier: Apache-2.0
// The strip above every view: which segment is on the air, whether the rack is locked, what is
// armed or under way, and who is here.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import type { Rack } from '../api/types';
import { toView } from '../browser/route';
import { connection, daemonClock, state, tick } from '../feed/store';
import { titleOf } from '../feed/show';
import { count, isCalling } from '../model/alarms';
import { countdown, plural } from '../model/format';
import { isReady, switchWord } from '../model/switching';
import { role, signedInAs, standing } from '../session/session';
import { Picture, Shape } from '../ui/shape';
import { helpOpen } from './help';
import { LockDialog } from './lock_dialog';
import { PersonDialog } from './person_dialog';
import { SegmentDialog } from './segment_dialog';

function Armed(): JSX.Element | null {
  void tick.value;
  const armed = state.value.order?.armed;
  if (!armed) return null;
  const left = Date.parse(armed.until) - daemonClock();
  if (left <= 0) return null;
  const level = isReady(armed) ? 'moving' : 'fault';
  return (
    <a class={`chip ${level} armed-chip`} href={toView('order')}>
      <Shape level={level} />
      <span class="chip-text">
        <span class="armed-word">{isReady(armed) ? 'Armed' : 'Armed, would not go'}</span>{' '}
        <span class="steady">{countdown(left)}</span> <span class="roomy">{armed.cue}</span>
      </span>
    </a>
  );
}

function Switching(): JSX.Element | null {
  const now = state.value.switching;
  if (!now || (now.ended && now.stage !== 'stuck')) return null;
  return (
    <a
      class={`chip switch-chip ${now.stage === 'stuck' ? 'fault' : 'moving'}`}
      href={toView('order')}
    >
      <Shape level={now.stage === 'stuck' ? 'fault' : 'moving'} />
      <span class="chip-text">{switchWord(now)}</span>
    </a>
  );
}

function AlarmsChip(): JSX.Element | null {
  const { alarms } = state.value;
  const { unacknowledged, active, shelved } = count(alarms);
  if (active === 0 && unacknowledged === 0) return null;
  const calls = alarms.some(isCalling) ? 'fault' : 'caution';
  const calling = unacknowledged > 0;
  return (
    <a class={`chip alarms-chip${calling ? ` ${calls}` : ''}`} href={toView('alarms')}>
      {calling && <Shape level={calls} />}
      <span class="chip-text">
        {calling ? plural(unacknowledged, 'alarm') : `${active} active`}
        <span class="at-leisure">
          {calling ? ' to acknowledge' : ', acknowledged'}
          {shelved > 0 && `, ${shelved} shelved`}
        </span>
      </span>
    </a>
  );
}

type Dialogs = 'lock' | 'segment' | 'person';
interface Opening {
  onOpen: (dialog: Dialogs) => void;
}

// Which segment counts, and the lock.
function RackChips({ rack, onOpen }: { rack: Rack } & Opening): JSX.Element {
  // What is chosen here says nothing of the rack while another controller has it.
  const ours = rack.control !== 'watching';
  return (
    <>
      <button type="button" class="chip segment-chip" onClick={() => onOpen('segment')}>
        <span class={ours ? 'chip-name' : ''}>{ours ? 'Segment' : 'Chosen here'}</span>
        <span class="chip-text">{titleOf(rack.segment)}</span>
      </button>
      <button
        type="button"
        class={rack.locked ? 'chip lock-chip locked' : 'chip lock-chip'}
        onClick={() => onOpen('lock')}
      >
        <Picture of={rack.locked ? 'lock' : 'unlock'} />
        <span class={rack.locked ? 'chip-text' : 'chip-text roomy'}>
          {rack.locked ? 'Locked' : 'Unlocked'}
          {!ours && ' here'}
          {rack.locked && rack.lock?.who && <span class="roomy"> by {rack.lock.who}</span>}
        </span>
      </button>
    </>
  );
}

function PersonChip({ onOpen }: Opening): JSX.Element {
  const tokens = standing.value.at === 'in' && standing.value.session.tokens;
  return (
    <button type="button" class="chip person" onClick={() => onOpen('person')}>
      <Picture of="person" />
      <span class="chip-text roomy">
        {signedInAs.value || 'No name given'}
        {tokens && <span class="chip-name"> {role.value}</span>}
      </span>
    </button>
  );
}

const links = {
  live: 'live',
  lost: 'not live',
  connecting: 'connecting',
  'signed-out': 'connecting',
} as const;

export function Strip(): JSX.Element {
  const open = useSignal<Dialogs | null>(null);
  const onOpen = (dialog: Dialogs): void => void (open.value = dialog);
  const close = (): void => void (open.value = null);
  const { rack } = state.value;
  const { at } = connection.value;
  return (
    <header class="strip">
      <p class="rack-name">
        <b>{rack?.name ?? 'Catwalk'}</b>
        <span class={`link ${at}`}>{links[at]}</span>
      </p>
      {rack && <RackChips rack={rack} onOpen={onOpen} />}
      <Switching />
      <Armed />
      <span class="spring" />
      <AlarmsChip />
      <PersonChip onOpen={onOpen} />
      <button
        type="button"
        class="chip bare help-button"
        aria-label="Keys and care"
        aria-keyshortcuts="?"
        onClick={() => void (helpOpen.value = true)}
      >
        <Picture of="help" />
      </button>
      {open.value === 'lock' && <LockDialog onClose={close} />}
      {open.value === 'segment' && <SegmentDialog onClose={close} />}
      {open.value === 'person' && <PersonDialog onClose={close} />}
    </header>
  );
}
