// SPDX-License-Identifier: Apache-2.0
// The picture as numbers, for who cannot see it and for who wants to read it out.
import type { JSX } from 'preact';
import { list, megahertz, signedTenths, tenths } from '../model/format';
import { Tag } from '../ui/shape';
import type { Fate, Product } from './passing';
import { fateWords } from './words';

const most = 60; // products in the table

interface Props {
  node: string;
  fates: readonly Fate[];
  products: readonly Product[];
  harmed: ReadonlySet<string>;
  edited: boolean;
}

export function CarrierTable({ node, fates, products, harmed, edited }: Props): JSX.Element {
  const rows = [...fates].sort((a, b) => a.carrier.frequency_mhz - b.carrier.frequency_mhz);
  return (
    <>
      <section class="part" aria-label={`Carriers at ${node}`}>
        <h2>
          Carriers at {node}{' '}
          <span class="quiet">
            {edited ? 'with what is edited here, not sent' : 'as it is set'}
          </span>
        </h2>
        <div class="scroll" tabIndex={0} role="region" aria-label={`Table of carriers at ${node}`}>
          <table class="numbers carriers">
            <thead>
              <tr>
                <th scope="col">Carrier</th>
                <th scope="col">MHz</th>
                <th scope="col">Use</th>
                <th scope="col">At the antenna, dBm</th>
                <th scope="col">Through the node, dB</th>
                <th scope="col">What it does to it</th>
              </tr>
            </thead>
            <tbody>
              {rows.map((fate) => (
                <tr key={fate.carrier.name}>
                  <th scope="row">{fate.carrier.name}</th>
                  <td>{megahertz(fate.carrier.frequency_mhz)}</td>
                  <td class="words">
                    {fate.carrier.use === 'transmit'
                      ? 'transmits'
                      : `to ${list(fate.carrier.receivers) || 'no receiver'}`}
                    {fate.carrier.live ? '' : ', not on the air'}
                  </td>
                  <td>{fate.level_dbm === undefined ? 'not known' : tenths(fate.level_dbm)}</td>
                  <td>{signedTenths(fate.gain_db)}</td>
                  <td class={fate.own || fate.wrong ? 'words' : 'words quiet'}>
                    {fate.wrong ? <Tag level="fault" word={fateWords(fate)} /> : fateWords(fate)}
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      </section>
      <section class="part" aria-label={`Products in ${node}`}>
        <h2>
          Products that land on a carrier <span class="quiet">as it is set</span>
        </h2>
        {products.length === 0 ? (
          <p class="none">None of third order that the computation knows.</p>
        ) : (
          <div
            class="scroll"
            tabIndex={0}
            role="region"
            aria-label={`Table of products in ${node}`}
          >
            <table class="numbers carriers">
              <thead>
                <tr>
                  <th scope="col">Lands on</th>
                  <th scope="col">MHz</th>
                  <th scope="col">Level, dBm</th>
                  <th scope="col">Made of</th>
                  <th scope="col">What it does to it</th>
                </tr>
              </thead>
              <tbody>
                {products.slice(0, most).map((one) => (
                  <tr key={`${one.lands_on} ${one.carriers.join(' ')} ${one.at_mhz}`}>
                    <th scope="row">{one.lands_on}</th>
                    <td>{megahertz(one.at_mhz)}</td>
                    <td>{tenths(one.level_dbm)}</td>
                    <td class="words">{list(one.carriers)}</td>
                    <td class="words">
                      {harmed.has(one.lands_on) ? (
                        <Tag level="caution" word="too strong, by one or all of them" />
                      ) : (
                        <span class="quiet">weak enough</span>
                      )}
                    </td>
                  </tr>
                ))}
              </tbody>
            </table>
          </div>
        )}
        {products.length > most && <p class="quiet">and {products.length - most} weaker ones</p>}
      </section>
    </>
  );
}
