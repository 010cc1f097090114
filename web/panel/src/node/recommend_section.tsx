// SPDX-License-Identifier: Apache-2.0
// What would be best, and what the plan has; one press puts it into the form.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { get } from '../api/client';
import type { Recommendation, Segment, Settings } from '../api/types';
import { isTheirs } from '../edit/use_editing';
import type { HeardNode } from '../feed/state';
import { tick } from '../feed/store';
import { tenths, megahertzShort } from '../model/format';
import { differencesInWords } from '../model/any_settings';
import { ActButton, Button, useAct } from '../ui/act';
import { FindingList, RefusalText } from '../ui/findings';

const limits: Record<Recommendation['limited_by'], string> = {
  noise: 'noise',
  intermodulation: 'intermodulation',
  'transmitter-noise': "the noise of the show's own transmitters",
  blocking: 'blocking',
  'co-channel': 'another carrier in its channel',
  'spurious-response': 'another carrier where its receiver hears beside the channel',
  'transmitter-products': 'what transmitters make in each other',
  'products-of-other-antennas': 'what amplifiers at other antennas make before the combiner',
  'amplifier-overload': 'overload of the amplifier',
  'receiver-overload': 'overload of the receiver',
  'chain-gain': 'the gain of the chain',
  'nothing-known': 'nothing that is known',
};

// Told from the second second on.
function Looking(): JSX.Element | null {
  const since = useSignal(Date.now()).value;
  void tick.value;
  const seconds = Math.floor((Date.now() - since) / 1000);
  if (seconds < 1) return null;
  return (
    <p class="quiet" role="status">
      Looking for {seconds} s …
    </p>
  );
}

function Room({ room }: { room: NonNullable<Recommendation['room']> }): JSX.Element {
  const until = (rule: string | undefined): string =>
    ` (${rule ?? 'the datasheet or the limits of the rack'})`;
  return (
    <ul class="plain-list">
      <li>
        gain: {tenths(room.down_db)} dB down{until(room.down_stops)}, {tenths(room.up_db)} dB up
        {until(room.up_stops)}
      </li>
      <li>
        centre: {megahertzShort(room.lower_mhz)} MHz lower{until(room.lower_stops)},{' '}
        {megahertzShort(room.higher_mhz)} MHz higher
        {until(room.higher_stops)}
      </li>
    </ul>
  );
}

interface Props {
  node: HeardNode;
  segment: Segment | null;
  onTake: (settings: Settings) => void;
}

function AsPlanned({ node, segment, onTake }: Props): JSX.Element | null {
  const { planned } = node;
  if (!node.wanted || !planned) return null;
  const changes = differencesInWords(node.wanted, planned);
  return (
    <div class="offer">
      <p>
        <b>As planned</b> for {segment?.title}: {changes || 'that is what is wanted already'}
      </p>
      {changes && <Button onPress={() => onTake(planned)}>Take it into the form</Button>}
    </div>
  );
}

function Best({ best, changes }: { best: Recommendation; changes: string }): JSX.Element {
  return (
    <div>
      <p>
        <b>{best.clean ? 'Best' : 'Least bad'}</b>:{' '}
        {changes || 'nothing is better than what is wanted'}
      </p>
      <p>
        {best.margin_db !== undefined &&
          `${tenths(best.margin_db)} dB margin for ${best.worst_carrier}, which is worst off; `}
        limited by {limits[best.limited_by]}.
      </p>
      {best.room && (
        <details>
          <summary>How much room is left</summary>
          <Room room={best.room} />
        </details>
      )}
      {best.advice.map((sentence) => (
        <p key={sentence}>{sentence}</p>
      ))}
      <FindingList findings={best.findings} notes={false} />
    </div>
  );
}

export function RecommendSection(props: Props): JSX.Element | null {
  const { node, onTake } = props;
  const acting = useAct();
  const found = useSignal<Recommendation | null>(null);
  if (!node.wanted || isTheirs(node)) return null;
  const best = found.value;
  const changes = best ? differencesInWords(node.wanted, best.settings) : '';
  return (
    <section class="part" aria-label="What would be better">
      <h2>What would be better</h2>
      <AsPlanned {...props} />
      <div class="offer">
        {best ? (
          <Best best={best} changes={changes} />
        ) : (
          <p>Look through every gain, filter and centre for the most margin without a finding.</p>
        )}
        {acting.busy && <Looking />}
        <p class="buttons">
          {best && changes && (
            <Button kind="main" onPress={() => onTake(best.settings)}>
              Take it into the form
            </Button>
          )}
          <ActButton
            act="GET /nodes/{node}/recommend"
            acting={acting}
            run={async () => {
              found.value = await get('/nodes/{node}/recommend', { node: node.name });
            }}
          >
            {best ? 'Look again' : 'Recommend'}
          </ActButton>
        </p>
      </div>
      <RefusalText refusal={acting.refusal} />
    </section>
  );
}
