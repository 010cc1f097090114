// SPDX-License-Identifier: Apache-2.0
import type { JSX } from 'preact';
import { post } from '../api/client';
import { state } from '../feed/store';
import { dateAndTime } from '../model/format';
import { useAct } from '../ui/act';
import { ActForm } from '../ui/act_form';
import { Dialog } from '../ui/dialog';
import { useReasons, WhyField } from '../ui/why_fields';

export function LockDialog({ onClose }: { onClose: () => void }): JSX.Element {
  const { why, sent } = useReasons();
  const acting = useAct();
  const { rack } = state.value;
  const locked = rack?.locked ?? false;
  const run = async (): Promise<string> => {
    await post(locked ? '/rack/unlock' : '/rack/lock', {}, sent(false));
    return locked ? 'The rack is unlocked.' : 'The rack is locked.';
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
          {rack?.lock?.why ? `: ${rack.lock.why}` : ''}. Every change is refused; what is wanted may
          be brought back, and a cue or a reload that is armed goes through, once.
        </p>
      ) : (
        <p>
          While it is locked every change is refused, whoever asks. What is wanted may be brought
          back, and a cue or a reload that is armed goes through, once.
        </p>
      )}
      <ActForm
        act={locked ? 'POST /rack/unlock' : 'POST /rack/lock'}
        does={locked ? 'Unlock' : 'Lock'}
        leaves="Leave it as it is"
        acting={acting}
        run={run}
        onClose={onClose}
      >
        <WhyField why={why} />
      </ActForm>
    </Dialog>
  );
}
