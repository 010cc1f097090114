// SPDX-License-Identifier: Apache-2.0
// From segment to segment: look ahead, arm, go, turn back.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import { get, post } from '../api/client';
import type { Armed, Preview } from '../api/types';
import { failingOf, titleOf } from '../feed/show';
import { daemonClock, live, state, tick } from '../feed/store';
import { countdown, zoneOfTimes } from '../model/format';
import { chosenRow, leadsTo, rowsOf, withoutLock, type Row } from '../model/order';
import { outlookOf } from '../model/switching';
import { may } from '../session/session';
import { Button, useAct } from '../ui/act';
import { RefusalText, Said } from '../ui/findings';
import { Shape } from '../ui/shape';
import { useAnswer } from '../ui/use_answer';
import { withKeys } from '../ui/view_keys';
import { CrewOfSwitch, NotTicked } from './crew_part';
import { CueList } from './cue_list';
import { FromField } from './from_field';
import { PreviewPart } from './preview_part';
import { ProgressPart } from './progress_part';
import { TriggerDialog } from './trigger_dialog';

function ArmedFor({ until }: { until: string }): JSX.Element {
  void tick.value;
  return <b class="steady">{countdown(Date.parse(until) - daemonClock())}</b>;
}

// What it would come to, for as long as it is armed.
function ArmedOutlook({ armed }: { armed: Armed }): JSX.Element | null {
  if (!armed.would_be) return <p class="quiet">Finding its way …</p>;
  const outlook = outlookOf({ would_be: armed.would_be });
  return (
    <ul class="obstacles armed-outlook" role="status">
      <li>
        <Shape level={outlook.level} />
        <span>
          {outlook.word}
          {outlook.level === 'calm' ? '' : '.'}
          {(armed.obstacles ?? []).map((sentence) => ` ${sentence}`)}
        </span>
      </li>
    </ul>
  );
}

// Where the preview stands below the list.
function OutlookLine({ preview }: { preview: Preview | null }): JSX.Element {
  if (!preview) return <p class="outlook-line quiet">Finding a way …</p>;
  const { level, word } = outlookOf(preview);
  return (
    <p class="outlook-line">
      <Shape level={level} /> {word}
    </p>
  );
}

// Beside each other on a desk, below each other elsewhere.
const onDesk = '(min-width: 64em)';
const still = '(prefers-reduced-motion: reduce)';
function show(section: HTMLElement | null): void {
  section?.scrollIntoView({
    block: matchMedia(onDesk).matches ? 'nearest' : 'start',
    behavior: matchMedia(still).matches ? 'auto' : 'smooth',
  });
}

export function OrderView(): JSX.Element {
  const { order, rack, nodes, switching } = state.value;
  const picked = useSignal<string | null>(null);
  // What is asked about does not change while it is asked, whatever the clock does in between.
  const asking = useSignal<{
    what: 'arm' | 'go';
    row: Row;
    without: readonly string[];
  } | null>(null);
  // Nodes that the chosen switch would go without.
  const leftOut = useSignal<{ segment: string; nodes: readonly string[] }>({
    segment: '',
    nodes: [],
  });
  // From where the preview of the chosen switch starts; empty: from where the rack is.
  const lookedFrom = useSignal({ to: '', from: '' });
  const acting = useAct();
  const cues = order?.cues ?? [];
  const rows = rowsOf(cues, rack?.segments ?? []);
  const nextSegment = cues.find((cue) => cue.name === order?.next)?.segment;
  const row = chosenRow(rows, picked.value, order?.next);
  const chosen = row?.segment ?? '';
  const cue = row?.cue?.name;
  // Going is by segment: another cue that leads there may be the one that is meant.
  const taken = order ? leadsTo(order, chosen)?.name : undefined;
  const underWay = switching !== null && !switching.ended;
  const armed = order?.armed;
  const locked = rack?.locked === true;
  const heldByLock = locked && armed?.cue !== cue;

  const without = leftOut.value.segment === chosen ? leftOut.value.nodes : [];

  // A way is planned from where every node is; it is asked anew when one of them is elsewhere.
  const where = [...nodes.values()].map((node) => [
    node.wanted?.revision,
    node.link,
    node.agreement,
    node.seen?.telemetry.powered,
  ]);
  const question =
    chosen && !underWay
      ? JSON.stringify([chosen, rack?.revision, rack?.segment, locked, armed?.cue, where, without])
      : null;
  const preview = useAnswer(
    question,
    (signal) =>
      get(
        '/segments/{segment}/preview',
        { segment: chosen },
        { signal, query: without.length > 0 ? { without: without.join(',') } : {} },
      ),
    250,
  );
  // From another segment only to look at: what is gone to starts from where the rack is.
  const from = lookedFrom.value.to === chosen ? lookedFrom.value.from : '';
  const fromElsewhere = useAnswer(
    from && question ? JSON.stringify([from, question]) : null,
    (signal) =>
      get('/segments/{segment}/preview', { segment: chosen }, { signal, query: { from } }),
    250,
  );
  // The way to one segment says nothing about another.
  const previewOf = (segment: string): Preview | null =>
    preview.answer?.to === segment ? preview.answer : null;
  // What is armed goes through the lock; so the lock says nothing against arming.
  const freeOf = (to: Row): Preview | null => {
    const answer = previewOf(to.segment);
    return answer && to.cue ? withoutLock(answer, failingOf(to.segment)) : answer;
  };
  const ask = (what: 'arm' | 'go'): void => {
    if (row) asking.value = { what, row, without };
  };

  const disarm = (): void =>
    void acting.run(async () => {
      await post('/running-order/disarm', {}, {});
      return 'Nothing is armed any more.';
    });
  const abort = (): void =>
    void acting.run(async () => {
      await post('/switch/abort', {}, {});
      return 'Turning back.';
    });
  const ours = rack?.control === 'ours';
  const canGo =
    live.value &&
    ours &&
    !underWay &&
    !heldByLock &&
    row !== null &&
    freeOf(row)?.would_be !== 'refused';
  const canArm = live.value && ours && cue !== undefined && armed?.cue !== cue;

  useEffect(() => {
    const move = (by: number): void => {
      // A second press may come before the first is drawn: what counts is what is picked by now.
      const from = chosenRow(rows, picked.value, order?.next);
      const at = rows.findIndex(({ key }) => key === from?.key);
      picked.value = rows[Math.min(rows.length - 1, Math.max(0, at + by))]?.key ?? null;
    };
    return withKeys([
      { key: 'ArrowDown', does: 'The next cue', run: () => move(1) },
      { key: 'ArrowUp', does: 'The cue before', run: () => move(-1) },
      { key: 'a', does: 'Arm', run: () => may('POST /running-order/arm') && canArm && ask('arm') },
      {
        key: 'd',
        does: 'Disarm',
        run: () => may('POST /running-order/disarm') && armed && live.value && disarm(),
      },
      { key: 'g', does: 'Go', run: () => may('POST /switch') && canGo && ask('go') },
      {
        key: 'x',
        does: 'Abort',
        run: () => may('POST /switch/abort') && underWay && live.value && abort(),
      },
    ]);
  });

  // In one column the cues may fill the screen: what is pressed next comes into sight.
  const triggers = useRef<HTMLElement>(null);
  useEffect(() => {
    if (underWay) show(triggers.current);
  }, [underWay]);
  const urgent =
    underWay || switching?.stage === 'stuck' || switching?.stage === 'rolled-back' ? ' urgent' : '';

  if (!order) return <p class="none">The running order has not come yet.</p>;
  return (
    <section class="order-view" aria-label="Running order">
      <div class="tools">
        <h1>Running order</h1>
        <p class="summary">
          {ours ? 'on the air' : 'chosen here'}: {titleOf(rack?.segment ?? '')}
          {order.next
            ? `; next: ${titleOf(nextSegment ?? '')}`
            : cues.length
              ? '; there is no next one'
              : ''}
        </p>
      </div>
      <div class={`order-columns${urgent}`}>
        <div>
          <CueList
            order={order}
            segment={rack?.segment ?? ''}
            rows={rows}
            chosen={row?.key ?? ''}
            switching={switching}
            onChoose={(key) => {
              picked.value = key;
              show(triggers.current);
            }}
          />
          <p class="quiet">
            Times are of {zoneOfTimes()}
            . A second trigger while a switch is under way:{' '}
            {order.second_trigger === 'refuse'
              ? 'is refused'
              : order.second_trigger === 'queue'
                ? 'waits its turn'
                : 'replaces the first'}
            .
          </p>
        </div>
        <div class="order-main">
          <section class="triggers" aria-label="Triggers" ref={triggers}>
            <h2>
              {titleOf(chosen)}
              {cue !== undefined && cue !== chosen && <span class="quiet"> {cue}</span>}
            </h2>
            {armed && (
              <p class="armed">
                <Shape level="moving" />
                <span>
                  Armed by {armed.who}: <b>{armed.cue}</b>, for <ArmedFor until={armed.until} />
                </span>
              </p>
            )}
            {armed && <ArmedOutlook armed={armed} />}
            {armed && <NotTicked sentence={armed.not_ticked ?? ''} />}
            {order.reload_armed && (
              <p class="armed">
                <Shape level="moving" />
                <span>
                  Reload armed by {order.reload_armed.who}, for{' '}
                  <ArmedFor until={order.reload_armed.until} />
                </span>
              </p>
            )}
            {!underWay && row && <OutlookLine preview={freeOf(row)} />}
            <p class="buttons">
              <Button
                act="POST /switch"
                kind="main"
                keys="g"
                disabled={!canGo}
                onPress={() => ask('go')}
              >
                Go …
              </Button>
              <Button
                act="POST /running-order/arm"
                keys="a"
                disabled={!canArm}
                onPress={() => ask('arm')}
              >
                Arm …
              </Button>
              {(armed ?? order.reload_armed) && (
                <Button
                  act="POST /running-order/disarm"
                  keys="d"
                  busy={acting.busy}
                  onPress={disarm}
                >
                  Disarm
                </Button>
              )}
              {underWay && (
                <Button act="POST /switch/abort" kind="grave" keys="x" onPress={abort}>
                  Abort: turn back now
                </Button>
              )}
            </p>
            {!heldByLock && !underWay && cue !== undefined && taken !== cue && (
              <p class="quiet">Going by hand takes {taken}, the next cue to this segment.</p>
            )}
            {heldByLock && !underWay && (
              <p class="held">
                The rack is locked:{' '}
                {cue
                  ? 'arm this cue, then it can go through the lock, once.'
                  : 'unlock it first; only cues can be armed.'}
              </p>
            )}
            <RefusalText refusal={acting.refusal} />
            <Said text={acting.done} />
          </section>
          {switching && switching.stage !== 'done' && <ProgressPart now={switching} />}
          {switching && <CrewOfSwitch now={switching} />}
          {!underWay && (
            <section class="triggers" aria-label="What it would do">
              <FromField
                to={chosen}
                from={from}
                segments={rack?.segments ?? []}
                onFrom={(name) => void (lookedFrom.value = { to: chosen, from: name })}
              />
              <PreviewPart
                following={from ? fromElsewhere : { ...preview, answer: row && freeOf(row) }}
                without={without}
                onWithout={(nodes) => void (leftOut.value = { segment: chosen, nodes })}
                onceArmed={from === '' && heldByLock && cue !== undefined}
              />
            </section>
          )}
          {switching?.stage === 'done' && <ProgressPart now={switching} />}
        </div>
      </div>
      {asking.value && (
        <TriggerDialog
          what={asking.value.what}
          row={asking.value.row}
          without={asking.value.without}
          preview={freeOf(asking.value.row)}
          onClose={() => void (asking.value = null)}
          onEnd={() => {
            acting.clear();
            picked.value = null;
          }}
        />
      )}
    </section>
  );
}
