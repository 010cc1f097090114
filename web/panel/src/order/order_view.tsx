// SPDX-License-Identifier: Apache-2.0
// From segment to segment: look ahead, arm, go, turn back.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { useEffect } from 'preact/hooks';
import { get, post } from '../api/client';
import type { Preview } from '../api/types';
import { titleOf } from '../feed/show';
import { daemonClock, live, state, tick } from '../feed/store';
import { withKeys } from '../frame/keys';
import { countdown } from '../model/format';
import { may } from '../session/session';
import { Button, useAct } from '../ui/act';
import { RefusalText, Said } from '../ui/findings';
import { Shape } from '../ui/shape';
import { useAnswer } from '../ui/use_answer';
import { CueList } from './cue_list';
import { PreviewPart } from './preview_part';
import { ProgressPart } from './progress_part';
import { TriggerDialog } from './trigger_dialog';

function ArmedFor({ until }: { until: string }): JSX.Element {
  void tick.value;
  return <b class="steady">{countdown(Date.parse(until) - daemonClock())}</b>;
}

export function OrderView(): JSX.Element {
  const { order, rack, nodes, switching } = state.value;
  const picked = useSignal<string | null>(null);
  // What is asked about does not change while it is asked, whatever the clock does in between.
  const asking = useSignal<{ what: 'arm' | 'go'; segment: string; cue: string | undefined } | null>(
    null,
  );
  const acting = useAct();
  const cues = order?.cues ?? [];
  const inOrder = new Set(cues.map((cue) => cue.segment));
  const others = (rack?.segments ?? []).filter(({ name }) => !inOrder.has(name));
  const nextSegment = cues.find((cue) => cue.name === order?.next)?.segment;
  const chosen = picked.value ?? nextSegment ?? cues[0]?.segment ?? others[0]?.name ?? '';
  const cue = cues.find((one) => one.segment === chosen)?.name;
  const underWay = switching !== null && !switching.ended;
  const armed = order?.armed;
  const locked = rack?.locked === true;
  const heldByLock = locked && armed?.cue !== cue;

  // A way is planned from where every node is; it is asked anew when one of them is elsewhere.
  const where = [...nodes.values()].map((node) => [
    node.wanted?.revision,
    node.link,
    node.agreement,
    node.seen?.telemetry.powered,
  ]);
  const question =
    chosen && !underWay
      ? JSON.stringify([chosen, rack?.revision, rack?.segment, locked, armed?.cue, where])
      : null;
  const preview = useAnswer(
    question,
    (signal) => get('/segments/{segment}/preview', { segment: chosen }, { signal }),
    250,
  );
  // The way to one segment says nothing about another.
  const previewOf = (segment: string): Preview | null =>
    preview.answer?.to === segment ? preview.answer : null;
  const ask = (what: 'arm' | 'go'): void => void (asking.value = { what, segment: chosen, cue });

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
  const canGo =
    live.value &&
    !underWay &&
    !heldByLock &&
    chosen !== '' &&
    previewOf(chosen)?.would_be !== 'refused';
  const canArm = live.value && cue !== undefined && armed?.cue !== cue;

  useEffect(() => {
    const all = [...cues.map((one) => one.segment), ...others.map(({ name }) => name)];
    const move = (by: number): void => {
      const at = all.indexOf(chosen);
      picked.value = all[Math.min(all.length - 1, Math.max(0, at + by))] ?? null;
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

  if (!order) return <p class="none">The running order has not come yet.</p>;
  return (
    <section class="order-view" aria-label="Running order">
      <div class="tools">
        <h1>Running order</h1>
        <p class="summary">
          on the air: {titleOf(rack?.segment ?? '')}
          {order.next
            ? `; next: ${titleOf(nextSegment ?? '')}`
            : cues.length
              ? '; there is no next one'
              : ''}
        </p>
      </div>
      <div class="order-columns">
        <div>
          <CueList
            order={order}
            segment={rack?.segment ?? ''}
            others={others}
            chosen={chosen}
            onChoose={(segment) => void (picked.value = segment)}
          />
          <p class="quiet">
            Times are of {order.zone}. A second trigger while a switch is under way:{' '}
            {order.second_trigger === 'refuse'
              ? 'is refused'
              : order.second_trigger === 'queue'
                ? 'waits its turn'
                : 'replaces the first'}
            .
          </p>
        </div>
        <div class="order-main">
          <section class="triggers" aria-label="Triggers">
            <h2>{titleOf(chosen)}</h2>
            {armed && (
              <p class="armed">
                <Shape level="moving" />
                <span>
                  Armed by {armed.who}: <b>{armed.cue}</b>, for <ArmedFor until={armed.until} />
                </span>
              </p>
            )}
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
              {armed && (
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
          {!underWay && (
            <section class="triggers" aria-label="What it would do">
              <PreviewPart following={{ ...preview, answer: previewOf(chosen) }} />
            </section>
          )}
          {switching?.stage === 'done' && <ProgressPart now={switching} />}
        </div>
      </div>
      {asking.value && (
        <TriggerDialog
          what={asking.value.what}
          segment={asking.value.segment}
          cue={asking.value.cue}
          preview={previewOf(asking.value.segment)}
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
