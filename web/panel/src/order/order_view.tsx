// SPDX-License-Identifier: Apache-2.0
// From segment to segment: look ahead, arm, go, turn back.
import { useSignal } from '@preact/signals';
import type { JSX, RefObject } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import type { RunningOrder } from '../api/types';
import { titleOf } from '../feed/show';
import { state } from '../feed/store';
import { zoneOfTimes } from '../model/format';
import { chosenRow, rowsOf, type Row } from '../model/order';
import { useAct } from '../ui/act';
import { CrewOfSwitch } from './crew_part';
import { CueList } from './cue_list';
import { FromField } from './from_field';
import { PreviewPart } from './preview_part';
import { ProgressPart } from './progress_part';
import { isUnderWay, triggerOf, useOrderKeys, type Asked, type Trigger } from './trigger';
import { TriggerDialog } from './trigger_dialog';
import { TriggersPart } from './triggers_part';
import { useAhead, type Ahead } from './use_ahead';

// Beside each other on a desk, below each other elsewhere.
const onDesk = '(min-width: 64em)';
const still = '(prefers-reduced-motion: reduce)';
function show(section: HTMLElement | null): void {
  section?.scrollIntoView({
    block: matchMedia(onDesk).matches ? 'nearest' : 'start',
    behavior: matchMedia(still).matches ? 'auto' : 'smooth',
  });
}

function Title({ order }: { order: RunningOrder }): JSX.Element {
  const { rack } = state.value;
  const next = order.cues.find(({ name }) => name === order.next)?.segment ?? '';
  const last = order.cues.length ? '; there is no next one' : '';
  return (
    <div class="tools">
      <h1>Running order</h1>
      <p class="summary">
        {rack?.control === 'ours' ? 'on the air' : 'chosen here'}: {titleOf(rack?.segment ?? '')}
        {order.next ? `; next: ${titleOf(next)}` : last}
      </p>
    </div>
  );
}

const secondTriggers = {
  refuse: 'is refused',
  queue: 'waits its turn',
  replace: 'replaces the first',
} as const;

interface WaysProps {
  row: Row | null;
  trigger: Trigger;
  ahead: Ahead;
}

// Of the switch that is under way, is ahead, or was the last. One that ended badly comes first.
function Ways({ row, trigger, ahead }: WaysProps): JSX.Element {
  const { rack, switching } = state.value;
  const isDone = switching?.stage === 'done';
  return (
    <>
      {switching && !isDone && <ProgressPart now={switching} />}
      {switching && trigger.underWay && <CrewOfSwitch now={switching} />}
      {!trigger.underWay && (
        <section class="triggers" aria-label="What it would do">
          <FromField
            to={row?.segment ?? ''}
            from={ahead.from}
            segments={rack?.segments ?? []}
            onFrom={ahead.lookFrom}
          />
          <PreviewPart
            following={ahead.following}
            without={ahead.without}
            onWithout={ahead.leaveOut}
          />
        </section>
      )}
      {switching && !trigger.underWay && <CrewOfSwitch now={switching} />}
      {switching && isDone && <ProgressPart now={switching} />}
    </>
  );
}

interface Choosing {
  rows: readonly Row[];
  row: Row | null;
  // Null: as if nobody had picked one.
  pick: (key: string | null) => void;
  move: (by: number) => void;
}

function useChoosing(): Choosing {
  const { order, rack } = state.value;
  const picked = useSignal<string | null>(null);
  const rows = rowsOf(order?.cues ?? [], rack?.segments ?? []);
  const chosen = (): Row | null => chosenRow(rows, picked.value, order?.next);
  return {
    rows,
    row: chosen(),
    pick: (key) => void (picked.value = key),
    move: (by) => {
      // A second press may come before the first is drawn: what counts is what is picked by now.
      const at = rows.findIndex(({ key }) => key === chosen()?.key) + by;
      picked.value = rows[Math.min(rows.length - 1, Math.max(0, at))]?.key ?? null;
    },
  };
}

// In one column the cues may fill the screen: what is pressed next comes into sight.
function useIntoSight(underWay: boolean): { place: RefObject<HTMLElement>; comes: () => void } {
  const place = useRef<HTMLElement>(null);
  const comes = (): void => show(place.current);
  useEffect(() => {
    if (underWay) comes();
  }, [underWay]);
  return { place, comes };
}

export function OrderView(): JSX.Element {
  const { order, switching } = state.value;
  const choosing = useChoosing();
  const { row, pick } = choosing;
  // What is asked about does not change while it is asked, whatever the clock does in between.
  const asked = useSignal<Asked | null>(null);
  const acting = useAct();
  const ahead = useAhead(row, isUnderWay());
  const trigger = triggerOf(row, ahead, acting, (question) => void (asked.value = question));
  useOrderKeys(trigger, choosing.move);
  const { place, comes } = useIntoSight(trigger.underWay);
  if (!order) return <p class="none">The running order has not come yet.</p>;
  const choose = (key: string): void => {
    pick(key);
    comes();
  };
  const close = (): void => void (asked.value = null);
  const done = (): void => {
    acting.clear();
    pick(null);
    close();
  };
  const urgent = trigger.underWay || ['stuck', 'rolled-back'].includes(switching?.stage ?? '');
  return (
    <section class="order-view" aria-label="Running order">
      <Title order={order} />
      <div class={`order-columns${urgent ? ' urgent' : ''}`}>
        <div>
          <CueList order={order} rows={choosing.rows} chosen={row?.key ?? ''} onChoose={choose} />
          <p class="quiet">
            Times are of {zoneOfTimes()}. A second trigger while a switch is under way:{' '}
            {secondTriggers[order.second_trigger]}.
          </p>
        </div>
        <div class="order-main">
          <section class="triggers" aria-label="Triggers" ref={place}>
            <TriggersPart
              order={order}
              row={row}
              trigger={trigger}
              preview={ahead.freeOf(row)}
              old={ahead.old}
              acting={acting}
            />
          </section>
          <Ways row={row} trigger={trigger} ahead={ahead} />
        </div>
      </div>
      {asked.value && (
        <TriggerDialog
          asked={asked.value}
          preview={ahead.freeOf(asked.value.row)}
          onClose={close}
          onDone={done}
        />
      )}
    </section>
  );
}
