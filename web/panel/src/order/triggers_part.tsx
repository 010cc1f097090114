// SPDX-License-Identifier: Apache-2.0
// What is armed, and what goes, arms, disarms and turns back.
import type { JSX } from 'preact';
import type { Armed, Preview, RunningOrder } from '../api/types';
import { titleOf } from '../feed/show';
import { goingTo, type Row } from '../model/order';
import { outlookOf } from '../model/switching';
import { Button, type Acting } from '../ui/act';
import { RefusalText, Said } from '../ui/findings';
import { Left } from '../ui/left';
import { Shape } from '../ui/shape';
import { NotTicked } from './crew_part';
import { Verdict } from './preview_part';
import type { Trigger } from './trigger';

// What it would come to, for as long as it is armed.
function ArmedOutlook({ armed }: { armed: Armed }): JSX.Element | null {
  if (!armed.would_be) return <p class="quiet">Finding its way …</p>;
  const { level, word } = outlookOf({ would_be: armed.would_be });
  return (
    <ul class="obstacles armed-outlook" role="status">
      <li>
        <Shape level={level} />
        <span>
          {word}
          {level === 'calm' ? '' : '.'}
          {(armed.obstacles ?? []).map((sentence) => ` ${sentence}`)}
        </span>
      </li>
    </ul>
  );
}

function WhatIsArmed({ armed, reload_armed: reload }: RunningOrder): JSX.Element {
  return (
    <>
      {armed && (
        <>
          <p class="armed">
            <Shape level="moving" />
            <span>
              Armed by {armed.who}: <b>{armed.cue}</b>, for{' '}
              <b>
                <Left until={armed.until} />
              </b>
            </span>
          </p>
          <ArmedOutlook armed={armed} />
          <NotTicked sentence={armed.not_ticked ?? ''} />
        </>
      )}
      {reload && (
        <p class="armed">
          <Shape level="moving" />
          <span>
            Reload armed by {reload.who}, for{' '}
            <b>
              <Left until={reload.until} />
            </b>
          </span>
        </p>
      )}
    </>
  );
}

interface Props {
  order: RunningOrder;
  row: Row | null;
  trigger: Trigger;
  preview: Preview | null;
  // Of what was before.
  old: boolean;
  acting: Acting;
}

function Presses({ order, trigger, acting }: Props): JSX.Element {
  const { canGo, canArm, underWay, ask, disarm, abort } = trigger;
  return (
    <p class="buttons">
      <Button act="POST /switch" kind="main" keys="g" disabled={!canGo} onPress={() => ask('go')}>
        Go …
      </Button>
      <Button act="POST /running-order/arm" keys="a" disabled={!canArm} onPress={() => ask('arm')}>
        Arm …
      </Button>
      {(order.armed ?? order.reload_armed) && (
        <Button act="POST /running-order/disarm" keys="d" busy={acting.busy} onPress={disarm}>
          Disarm
        </Button>
      )}
      {underWay && (
        <Button act="POST /switch/abort" kind="grave" keys="x" onPress={abort}>
          Abort: turn back now
        </Button>
      )}
    </p>
  );
}

// Why it does not go, or what it takes.
function Hint({ order, row, trigger }: Props): JSX.Element | null {
  const cue = row?.cue?.name;
  if (trigger.underWay) return null;
  if (trigger.heldByLock)
    return (
      <p class="held">
        The rack is locked:{' '}
        {cue
          ? 'arm this cue, then it can go through the lock, once.'
          : 'unlock it first; only cues can be armed.'}
      </p>
    );
  // Going is by segment: another cue that leads there may be the one that is meant.
  const taken = goingTo(order, row?.segment ?? '')?.cue;
  return cue !== undefined && taken !== cue ? (
    <p class="quiet">Going by hand takes {taken}, the next cue to this segment.</p>
  ) : null;
}

export function TriggersPart(props: Props): JSX.Element {
  const { order, row, trigger, preview, old, acting } = props;
  const segment = row?.segment ?? '';
  const cue = row?.cue?.name;
  return (
    <>
      <h2>
        {titleOf(segment)}
        {cue !== undefined && cue !== segment && <span class="quiet"> {cue}</span>}
      </h2>
      <WhatIsArmed {...order} />
      {!trigger.underWay &&
        row &&
        (preview ? (
          <Verdict preview={preview} old={old} />
        ) : (
          <p class="quiet">Finding a way …</p>
        ))}
      <Presses {...props} />
      <Hint {...props} />
      <RefusalText refusal={acting.refusal} />
      <Said text={acting.done} />
    </>
  );
}
