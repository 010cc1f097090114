// SPDX-License-Identifier: Apache-2.0
// Arming and going, asked once more: what it is about, who answers for a caution, and why.
import type { JSX } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import { post } from '../api/client';
import type { Preview } from '../api/types';
import { failingOf, titleOf } from '../feed/show';
import { daemonClock, state } from '../feed/store';
import { plural } from '../model/format';
import { followsByItself, leadsTo, type Row } from '../model/order';
import { outlookOf, secondsInWords } from '../model/switching';
import { Button, useAct } from '../ui/act';
import { Dialog } from '../ui/dialog';
import { FindingList, RefusalText } from '../ui/findings';
import { Shape } from '../ui/shape';
import { useReasons, WhyFields } from '../ui/why_fields';
import { NotTickedOf } from './crew_part';

interface Props {
  what: 'arm' | 'go';
  row: Row;
  // Nodes that stay as they are.
  without: readonly string[];
  preview: Preview | null;
  onClose: () => void;
  // The end of a switch that was gone to, in words.
  onEnd: (sentence: string) => void;
}

const ifANodeFails = {
  'roll back': 'All nodes move, or none.',
  'go on': 'If a node fails it goes on without it.',
} as const;

export function TriggerDialog({
  what,
  row,
  without,
  preview,
  onClose,
  onEnd,
}: Props): JSX.Element {
  const { segment } = row;
  const cue = row.cue?.name;
  const acting = useAct();
  const reasons = useReasons();
  const button = useRef<HTMLButtonElement>(null);
  useEffect(() => button.current?.focus(), []);
  const needsWaiver =
    without.length > 0 ||
    preview?.would_be === 'needs-waiver' || acting.refusal?.outcome === 'needs-waiver';
  const ready =
    (!needsWaiver || reasons.signed) && (without.length === 0 || reasons.why.value.trim() !== '');
  const { order } = state.value;
  const armingS = order?.arming_s ?? 0;
  const taken = order && what === 'go' ? leadsTo(order, segment)?.name : cue;
  const follows =
    order && what === 'go'
      ? followsByItself(order, { cue: taken, segment }, titleOf, daemonClock())
      : '';
  const send = async (): Promise<void> => {
    if (!ready) return;
    const words = {
      ...(without.length > 0 ? { without: [...without] } : {}),
      ...reasons.sent(needsWaiver),
    };
    const done = await acting.run(async () => {
      if (what === 'arm') {
        await post('/running-order/arm', {}, { ...(cue === undefined ? {} : { cue }), ...words });
        return `Armed: ${titleOf(segment)}, for ${secondsInWords(armingS)}.`;
      }
      // Answered when the intent is durable; the view follows the rest as it happens.
      await post('/switch', {}, { segment, ...words }, { headers: { Prefer: 'respond-async' } });
      return `Going to ${titleOf(segment)}.`;
    });
    if (done) {
      onEnd('');
      onClose();
    }
  };
  const outlook = preview ? outlookOf(preview) : null;
  return (
    <Dialog
      title={what === 'arm' ? `Arm ${titleOf(segment)}?` : `Go to ${titleOf(segment)} now?`}
      open
      onClose={onClose}
    >
      {outlook && (
        <p class="verdict-word">
          <Shape level={outlook.level} />
          <b>{outlook.word}</b>
          {preview && (
            <span class="quiet">
              {plural(preview.nodes.length, 'node')}, {plural(preview.steps.length, 'step')}
            </span>
          )}
        </p>
      )}
      {preview && <FindingList findings={[...preview.breaches, ...preview.end]} notes={false} />}
      {preview && <NotTickedOf sheet={preview.crew_sheet} />}
      {without.length > 0 && (
        <p>
          Without <b>{without.join(', ')}</b>, as {without.length === 1 ? 'it is' : 'they are'}. Say
          why, and who answers for it.
        </p>
      )}
      <p>
        {what === 'arm'
          ? `Its trigger goes through the lock, once, within ${secondsInWords(armingS)}. Everybody sees that it is armed.`
          : `${ifANodeFails[failingOf(segment)]} It can be turned back with Abort while it is under way.`}
      </p>
      {what === 'go' && cue !== undefined && taken !== cue && (
        <p>
          In the running order this takes the cue <b>{taken}</b>: the next one to this segment.
        </p>
      )}
      {follows && (
        <p>
          <b>{follows}</b>
        </p>
      )}
      <p class="care">
        A segment may put other transmitters on the air. Transmit only where and how your licence
        allows, and keep people out of the near field of transmitting antennas; local codes come
        first.
      </p>
      <form
        onSubmit={(event) => {
          event.preventDefault();
          void send();
        }}
      >
        <WhyFields reasons={reasons} waive={needsWaiver} whyNeeded={without.length > 0} />
        <RefusalText refusal={acting.refusal} />
        <p class="buttons">
          <Button
            act={what === 'arm' ? 'POST /running-order/arm' : 'POST /switch'}
            kind="main"
            busy={acting.busy}
            disabled={!ready}
            buttonRef={button}
            onPress={() => void send()}
          >
            {what === 'arm' ? 'Arm it' : 'Go now'}
          </Button>
          <Button onPress={onClose}>Do not</Button>
        </p>
      </form>
    </Dialog>
  );
}
