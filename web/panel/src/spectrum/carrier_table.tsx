// SPDX-License-Identifier: Apache-2.0
// The picture as numbers, for who cannot see it and for who wants to read it out.
import type { JSX } from 'preact';
import { list, megahertz, signedTenths, tenths } from '../model/format';
import { Tag } from '../ui/shape';
import { WideTable } from '../ui/table';
import type { Fate, Product } from './passing';
import { fateWords } from './words';

const most = 60; // products in the table
const ofCarriers = [
  'Carrier',
  'MHz',
  'Use',
  'At the antenna, dBm',
  'Through the node, dB',
  'What it does to it',
];
const ofProducts = ['Lands on', 'MHz', 'Level, dBm', 'Made of', 'What it does to it'];

interface Props {
  node: string;
  fates: readonly Fate[];
  products: readonly Product[];
  harmed: ReadonlySet<string>;
  edited: boolean;
  old: boolean; // the fates, said of settings before the last edit
}

function ofWhat({ edited, old }: Pick<Props, 'edited' | 'old'>): string {
  if (old) return 'as was said before the last edit';
  return edited ? 'with what is edited here, not sent' : 'as it is set';
}

function CarrierRow({ fate }: { fate: Fate }): JSX.Element {
  const { carrier, level_dbm, gain_db, own, wrong } = fate;
  const use =
    carrier.use === 'transmit' ? 'transmits' : `to ${list(carrier.receivers) || 'no receiver'}`;
  return (
    <tr>
      <th scope="row">{carrier.name}</th>
      <td>{megahertz(carrier.frequency_mhz)}</td>
      <td class="words">
        {use}
        {carrier.live ? '' : ', not on the air'}
      </td>
      <td>{level_dbm === undefined ? 'not known' : tenths(level_dbm)}</td>
      <td>{signedTenths(gain_db)}</td>
      <td class={own || wrong ? 'words' : 'words quiet'}>
        {wrong ? <Tag level="fault" word={fateWords(fate)} /> : fateWords(fate)}
      </td>
    </tr>
  );
}

function ProductRow({ product, harms }: { product: Product; harms: boolean }): JSX.Element {
  return (
    <tr>
      <th scope="row">{product.lands_on}</th>
      <td>{megahertz(product.at_mhz)}</td>
      <td>{tenths(product.level_dbm)}</td>
      <td class="words">{list(product.carriers)}</td>
      <td class="words">
        {harms ? (
          <Tag level="caution" word="too strong, by one or all of them" />
        ) : (
          <span class="quiet">weak enough</span>
        )}
      </td>
    </tr>
  );
}

function ProductsPart({ node, products, harmed }: Props): JSX.Element {
  return (
    <section class="part" aria-label={`Products in ${node}`}>
      <h2>
        Products that land on a carrier <span class="quiet">as it is set</span>
      </h2>
      {products.length === 0 ? (
        <p class="none">None that the computation knows.</p>
      ) : (
        <WideTable
          label={`Table of products in ${node}`}
          class="numbers carriers"
          columns={ofProducts}
        >
          {products.slice(0, most).map((product) => (
            <ProductRow
              key={`${product.lands_on} ${product.carriers.join(' ')} ${product.at_mhz}`}
              product={product}
              harms={harmed.has(product.lands_on)}
            />
          ))}
        </WideTable>
      )}
      {products.length > most && <p class="quiet">and {products.length - most} weaker ones</p>}
    </section>
  );
}

export function CarrierTable(props: Props): JSX.Element {
  const { node, fates } = props;
  const rows = [...fates].sort((a, b) => a.carrier.frequency_mhz - b.carrier.frequency_mhz);
  return (
    <>
      <section class="part" aria-label={`Carriers at ${node}`}>
        <h2>
          Carriers at {node}{' '}
          <span class="quiet">{ofWhat(props)}</span>
        </h2>
        <WideTable
          label={`Table of carriers at ${node}`}
          class="numbers carriers"
          columns={ofCarriers}
        >
          {rows.map((fate) => (
            <CarrierRow key={fate.carrier.name} fate={fate} />
          ))}
        </WideTable>
      </section>
      <ProductsPart {...props} />
    </>
  );
}
