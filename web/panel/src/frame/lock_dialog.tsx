// SPDX-License-Identifier: Apache-2.0
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { post } from '../api/client';
import { state } from '../feed/store';
import { dateAndTime } from '../model/format';
import { Button, useAct } from '../ui/act';
import { Dialog } from '../ui/dialog';
import { RefusalText } from '../ui/findings';
import { WhyField } from '../ui/why_fields';

export function LockDialog({ onClose }: { onClose: () => void }): JSX.Element {
  const why = useSignal('');
  const acting = useAct();
  const { rack } = state.value;
  const locked = rack?.locked ?? false;
  const send = async (): Promise<void> => {
    const body = why.value.trim() ? { why: why.value.trim() } : {};
    const done = await acting.run(async () => {
      await post(locked ? '/rack/unlock' : '/rack/lock', {}, body);
      return locked ? 'The rack is unlocked.' : 'The rack is locked.';
    });
    if (done) onClose();
  };
  return (
    <Dialog
      title={locked ? 'The rack is locked' : 'Lock the rack for the show'}
      open
      onClose={onClose}
    >
      {locked ? (
        <p>
          Locked by {rack?.lock?.who} since {rack?.lock ? dateAndTime(rack.lock.since) : ''}
          {rack?.lock?.why ? `: ${rack.lock.why}` : ''}. Every change is refused. A cue that is
          armed goes through, once.
        </p>
      ) : (
        <p>
          While it is locked every change is refused, whoever asks. A cue that is armed goes
          through, once.
        </p>
      )}
      <form
        onSubmit={(event) => {
          event.preventDefault();
          void send();
        }}
      >
        <WhyField why={why} />
        <RefusalText refusal={acting.refusal} />
        <p class="buttons">
          <Button
            act={locked ? 'POST /rack/unlock' : 'POST /rack/lock'}
            kind="main"
            busy={acting.busy}
            onPress={() => void send()}
          >
            {locked ? 'Unlock' : 'Lock'}
          </Button>
          <Button onPress={onClose}>Leave it as it is</Button>
        </p>
      </form>
    </Dialog>
  );
}
