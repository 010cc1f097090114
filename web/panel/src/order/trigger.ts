// SPDX-License-Identifier: Apache-2.0
// What may be done with the chosen row now; and the keys that do it.
import { useEffect } from 'preact/hooks';
import { post } from '../api/client';
import { live, state } from '../feed/store';
import { goingTo, type Row } from '../model/order';
import { may } from '../session/session';
import type { Acting } from '../ui/act';
import { withKeys } from '../ui/view_keys';
import type { Ahead } from './use_ahead';

// What somebody is about to do, and is asked about once more.
export interface Asked {
  what: 'arm' | 'go';
  row: Row;
  // Nodes that stay as they are.
  without: readonly string[];
}

export interface Trigger {
  underWay: boolean;
  heldByLock: boolean;
  canGo: boolean;
  canArm: boolean;
  ask: (what: Asked['what']) => void;
  disarm: () => void;
  abort: () => void;
}

export const isUnderWay = (): boolean => state.value.switching?.ended === false;

export function triggerOf(
  row: Row | null,
  ahead: Ahead,
  acting: Acting,
  onAsk: (asked: Asked) => void,
): Trigger {
  const { order } = state.value;
  const act = (path: '/running-order/disarm' | '/switch/abort', said: string) => (): void =>
    void acting.run(() => post(path, {}, {}).then(() => said));
  const cue = row?.cue?.name;
  const going = order && row ? goingTo(order, row.segment) : undefined;
  const underWay = isUnderWay();
  const goes = going?.may_go === true && ahead.freeOf(row)?.would_be !== 'refused';
  return {
    underWay,
    heldByLock: going?.held_by_lock === true,
    canGo: live.value && !underWay && goes,
    canArm: live.value && order?.may_arm === true && cue !== undefined && order.armed?.cue !== cue,
    ask: (what) => {
      if (row) onAsk({ what, row, without: ahead.without });
    },
    disarm: act('/running-order/disarm', 'Nothing is armed any more.'),
    abort: act('/switch/abort', 'Turning back.'),
  };
}

export function useOrderKeys(trigger: Trigger, move: (by: number) => void): void {
  const { underWay, canGo, canArm, ask, disarm, abort } = trigger;
  const armed = state.value.order?.armed;
  useEffect(() =>
    withKeys([
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
    ]),
  );
}
