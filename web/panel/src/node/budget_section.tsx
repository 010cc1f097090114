// SPDX-License-Identifier: Apache-2.0
// The level budget: of what is in force, or of what is being edited.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import type { ExplainedChain } from '../api/types';
import { tenths, megahertz, signedTenths } from '../model/format';
import { Shape } from '../ui/shape';
import { BudgetPicture, BudgetTable } from './budget_picture';

interface Props {
  chains: readonly ExplainedChain[];
  unknown: readonly string[];
  old: boolean;
  edited: boolean;
  carriers: readonly string[];
  carrier: string;
  onCarrier: (carrier: string) => void;
}

function Key({
  name,
  value,
  unit,
  wrong = false,
}: {
  name: string;
  value: string;
  unit: string;
  wrong?: boolean;
}): JSX.Element {
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

export function BudgetSection({
  chains,
  unknown,
  old,
  edited,
  carriers,
  carrier,
  onCarrier,
}: Props): JSX.Element {
  const which = useSignal(0);
  const chain = chains[Math.min(which.value, chains.length - 1)];
  return (
    <section class={old ? 'part old' : 'part'} aria-label="Level budget">
      <div class="part-head">
        <h2>
          Level budget{' '}
          <span class="quiet">{edited ? 'as it would be with your edits' : 'as it is'}</span>
        </h2>
        <span class="spring" />
        {chains.length > 1 && (
          <label class="in-head">
            <span>at</span>
            <select
              value={which.value}
              onChange={(event) => void (which.value = Number(event.currentTarget.value))}
            >
              {chains.map((one, i) => (
                <option key={i} value={i}>
                  {one.receiver ?? 'the end of the chain'}
                </option>
              ))}
            </select>
          </label>
        )}
        <label class="in-head">
          <span>carrier</span>
          <select value={carrier} onChange={(event) => onCarrier(event.currentTarget.value)}>
            <option value="">worst off</option>
            {carriers.map((name) => (
              <option key={name} value={name}>
                {name}
              </option>
            ))}
          </select>
        </label>
      </div>
      {!chain && <p class="none">No carrier of this segment comes through this node.</p>}
      {chain && (
        <>
          <p>
            <b>{chain.carrier}</b> at <span class="steady">{megahertz(chain.frequency_mhz)}</span>{' '}
            MHz to {chain.receiver ?? 'the end of the chain'}, dBm behind each stage
          </p>
          <BudgetPicture chain={chain} />
          <dl class="keys-row">
            {chain.budget.margin_db !== undefined && (
              <Key
                name="margin of the weakest"
                value={signedTenths(chain.budget.margin_db)}
                unit="dB"
                wrong={chain.budget.margin_db < 0}
              />
            )}
            <Key name="chain gain" value={signedTenths(chain.budget.chain_gain_db)} unit="dB" />
            <Key name="noise figure" value={tenths(chain.budget.noise_figure_db)} unit="dB" />
            <Key
              name="lost to interference"
              value={tenths(chain.budget.desensitisation_db)}
              unit="dB"
            />
          </dl>
          <details>
            <summary>In numbers</summary>
            <BudgetTable chain={chain} />
            {chain.products.length > 0 && (
              <ul class="plain-list">
                {chain.products.map((product, i) => (
                  <li key={i}>
                    {product.carriers.length === 2
                      ? `2 × ${product.carriers[0]} − ${product.carriers[1]}`
                      : `${product.carriers[0]} + ${product.carriers[1]} − ${product.carriers[2]}`}
                    : {megahertz(product.at_mhz)} MHz, {tenths(product.level_dbm)} dBm at the
                    amplifier's input
                  </li>
                ))}
              </ul>
            )}
          </details>
        </>
      )}
      {unknown.map((sentence) => (
        <p key={sentence} class="quiet">
          Not counted: {sentence}
        </p>
      ))}
    </section>
  );
}
