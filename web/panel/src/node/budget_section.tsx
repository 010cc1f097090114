// SPDX-License-Identifier: Apache-2.0
// The level budget: of what is in force, or of what is being edited.
import { useSignal, type Signal } from '@preact/signals';
import type { JSX } from 'preact';
import type { Explained, ExplainedChain, Supposed } from '../api/types';
import { tenths, megahertz, signedTenths } from '../model/format';
import { Shape } from '../ui/shape';
import type { Following } from '../ui/use_answer';
import { BudgetPicture } from './budget_picture';
import { BudgetTable } from './budget_table';
import { wantedWords } from './margin';

interface KeyProps {
  name: string;
  value: string;
  unit: string;
  wrong?: boolean;
}

function Key({ name, value, unit, wrong = false }: KeyProps): JSX.Element {
  return (
    <div class={wrong ? 'key wrong' : 'key'}>
      <dt>{name}</dt>
      <dd>
        {wrong && <Shape level="fault" />}
        {value} <span class="unit">{unit}</span>
      </dd>
    </div>
  );
}

function Figures({ budget }: Pick<ExplainedChain, 'budget'>): JSX.Element {
  return (
    <dl class="keys-row">
      {budget.margin_db !== undefined && (
        <Key
          name="margin of the weakest"
          value={signedTenths(budget.margin_db)}
          unit={`dB${wantedWords(budget)}`}
          wrong={budget.margin_db < 0}
        />
      )}
      <Key name="chain gain" value={signedTenths(budget.chain_gain_db)} unit="dB" />
      <Key name="noise figure" value={tenths(budget.noise_figure_db)} unit="dB" />
      <Key
        name="lost to interference"
        value={tenths(budget.interference_costs_db ?? budget.desensitisation_db)}
        unit="dB"
      />
    </dl>
  );
}

// What of a product that is wider than the channel, or stands beside it, counts there.
function inChannel(share: number): string {
  return share < 0.995 ? `, ${Math.max(1, Math.round(100 * share))} % of it in the channel` : '';
}

type Product = ExplainedChain['products'][number] & { antenna?: string };

function made({ carriers: [a, b, c], order }: Product): string {
  if (c !== undefined) return `${a} + ${b} − ${c}`;
  return order === 5 ? `3 × ${a} − 2 × ${b}` : `2 × ${a} − ${b}`;
}

function Products({ products }: { products: readonly Product[] }): JSX.Element | null {
  if (products.length === 0) return null;
  return (
    <ul class="plain-list">
      {products.map((product, i) => (
        <li key={i}>
          {made(product)}
          {product.antenna && `, made by amplifiers at ${product.antenna}, before the combiner`}:{' '}
          {megahertz(product.at_mhz)} MHz, {tenths(product.level_dbm)} dBm at the antenna
          {inChannel(product.share)}
        </li>
      ))}
    </ul>
  );
}

function Strays({
  spurious_responses: strays,
}: Pick<ExplainedChain, 'spurious_responses'>): JSX.Element | null {
  if (strays.length === 0) return null;
  return (
    <ul class="plain-list">
      {strays.map(({ carrier, name, offset_mhz, level_dbm }, i) => (
        <li key={i}>
          {carrier} at {name ?? 'a spurious response'}, {megahertz(offset_mhz)} MHz from the channel:{' '}
          {tenths(level_dbm)} dBm at the antenna, as in the channel
        </li>
      ))}
    </ul>
  );
}

function MadeOutside({
  transmitter_products: products,
}: Pick<ExplainedChain, 'transmitter_products'>): JSX.Element | null {
  if (products.length === 0) return null;
  return (
    <ul class="plain-list">
      {products.map(({ own, other, at_mhz, level_dbm, share }, i) => (
        <li key={i}>
          2 × {own} − {other}, made in the transmitter of {own}: {megahertz(at_mhz)} MHz,{' '}
          {tenths(level_dbm)} dBm at the antenna
          {inChannel(share)}
        </li>
      ))}
    </ul>
  );
}

function OfChain({ chain }: { chain: ExplainedChain }): JSX.Element {
  return (
    <>
      <p>
        <b>{chain.carrier}</b> at <span class="steady">{megahertz(chain.frequency_mhz)}</span> MHz
        to {chain.receiver ?? 'the end of the chain'}, dBm behind each stage
      </p>
      <BudgetPicture chain={chain} />
      <Figures budget={chain.budget} />
      <details>
        <summary>In numbers</summary>
        <BudgetTable chain={chain} />
        <Products products={chain.products} />
        <Products products={chain.products_of_other_antennas} />
        <MadeOutside transmitter_products={chain.transmitter_products} />
        <Strays spurious_responses={chain.spurious_responses} />
      </details>
    </>
  );
}

interface ChoiceProps {
  title: string;
  value: string | number;
  choices: readonly { value: string | number; title: string }[];
  onChoose: (value: string) => void;
}

const Choice = ({ title, value, choices, onChoose }: ChoiceProps): JSX.Element => (
  <label class="in-head">
    <span>{title}</span>
    <select value={value} onChange={(event) => onChoose(event.currentTarget.value)}>
      {choices.map((choice) => (
        <option key={choice.value} value={choice.value}>
          {choice.title}
        </option>
      ))}
    </select>
  </label>
);

interface Props {
  explained: Following<Explained>;
  // With the edits; null: there are none.
  supposed: Following<Supposed> | null;
  // Empty: whichever is worst off.
  carrier: Signal<string>;
}

export function BudgetSection({ explained, supposed, carrier }: Props): JSX.Element {
  const which = useSignal(0);
  const { answer, old } = supposed ?? explained;
  const now = explained.answer?.chains ?? [];
  const chains = answer?.chains ?? now;
  const chain = chains[Math.min(which.value, chains.length - 1)];
  return (
    <section class={old ? 'part old' : 'part'} aria-label="Level budget">
      <div class="part-head">
        <h2>
          Level budget{' '}
          <span class="quiet">{supposed ? 'as it would be with your edits' : 'as it is'}</span>
        </h2>
        <span class="spring" />
        {chains.length > 1 && (
          <Choice
            title="at"
            value={which.value}
            choices={chains.map(({ receiver }, value) => ({
              value,
              title: receiver ?? 'the end of the chain',
            }))}
            onChoose={(value) => void (which.value = Number(value))}
          />
        )}
        <Choice
          title="carrier"
          value={carrier.value}
          choices={[
            { value: '', title: 'worst off' },
            ...(explained.answer?.carriers ?? []).map((name) => ({ value: name, title: name })),
          ]}
          onChoose={(name) => void (carrier.value = name)}
        />
      </div>
      {chain ? (
        <OfChain chain={chain} />
      ) : (
        <p class="none">No carrier of this segment comes through this node.</p>
      )}
      {(answer?.unknown ?? []).map((sentence) => (
        <p key={sentence} class="quiet">
          Not counted: {sentence}
        </p>
      ))}
      {(answer?.assumed ?? []).map((sentence) => (
        <p key={sentence} class="quiet">
          Assumed: {sentence}
        </p>
      ))}
    </section>
  );
}
