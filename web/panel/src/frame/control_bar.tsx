// SPDX-License-Identifier: Apache-2.0
// Says that another controller has the nodes, and lets somebody take over.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { post } from '../api/client';
import { state } from '../feed/store';
import { timeOfDay } from '../model/format';
import { Button, useAct } from '../ui/act';
import { ActForm } from '../ui/act_form';
import { Dialog } from '../ui/dialog';
import { Shape } from '../ui/shape';
import { WhyField } from '../ui/why_fields';

const mostNamed = 6;

interface Props {
  because: string;
  leaves: string;
  onClose: () => void;
}

function TakeOverDialog({ because, leaves, onClose }: Props): JSX.Element {
  const why = useSignal('');
  const acting = useAct();
  const run = async (): Promise<string> => {
    await post('/rack/take-over', {}, { why: why.value.trim() });
    return 'The nodes obey this daemon now, and the rack is locked.';
  };
  return (
    <Dialog title="Take over the nodes" open onClose={onClose}>
      <p>{because}</p>
      <p>
        Stop the other controller first: on a serial line two that speak spoil each other’s words.
        Choose the segment that is on the air, too; nobody has told this daemon. Taking over moves
        nothing. Afterwards the nodes refuse the other one, and the rack is locked here, since
        nobody here knows whether it was.
      </p>
      <ActForm
        act="POST /rack/take-over"
        does="Take over"
        leaves={leaves}
        acting={acting}
        ready={why.value.trim() !== ''}
        run={run}
        onClose={onClose}
      >
        <WhyField why={why} needed />
      </ActForm>
    </Dialog>
  );
}

export function ControlBar(): JSX.Element | null {
  const taking = useSignal(false);
  const { rack } = state.value;
  const watching = rack?.control === 'watching';
  const theirs = watching ? [] : (rack?.not_ours ?? []);
  if (!watching && theirs.length === 0) return null;
  const because = watching
    ? (rack.watching_because ?? '')
    : `Another controller speaks to ${theirs.slice(0, mostNamed).join(', ')}${
        theirs.length > mostNamed ? ` and ${theirs.length - mostNamed} more` : ''
      }.`;
  const heard = rack?.other_heard;
  return (
    <div class="feed-bar">
      <Shape level="fault" />
      <p role="alert">
        {watching && <b>Only watching. </b>}
        {because} Nothing is moved {watching ? 'from here' : 'there'}.
      </p>
      {heard && <p>It was heard last at {timeOfDay(heard)}.</p>}
      <Button act="POST /rack/take-over" onPress={() => void (taking.value = true)}>
        Take over …
      </Button>
      {taking.value && (
        <TakeOverDialog
          because={because}
          leaves={watching ? 'Go on watching' : 'Leave them'}
          onClose={() => void (taking.value = false)}
        />
      )}
    </div>
  );
}
