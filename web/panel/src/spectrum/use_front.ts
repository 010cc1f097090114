// SPDX-License-Identifier: Apache-2.0
// The node in front: what it passes as it is set or edited, and what that makes of each carrier.
import { useMemo } from 'preact/hooks';
import type { CarriersAtNode, Settings, Supposed, ThroughNode } from '../api/types';
import type { Draft } from '../edit/drafts';
import type { HeardNode } from '../feed/state';
import type { Following } from '../ui/use_answer';
import { windowOf } from '../model/window';
import { curveFor, toldOf, type Curve, type Shown, type Truth } from './curve';
import { fates as fatesOf, productsAt, type Fate, type Product } from './passing';
import { useFor } from './use_lasting';
import type { Told } from './use_spectrum';

// An answer follows within a few frames: only one that is late is shown as old.
export const slowAfter = 150; // ms

export interface InFront {
  node: string;
  // Edited, or else those that it has: what it does to carriers now.
  settings: Settings | null;
  shown: Shown | null;
  fates: readonly Fate[];
  // What is said of carriers is of other settings, and no news of these has come for a while.
  old: boolean;
  products: readonly Product[];
  // Carriers on which one of them is too strong, as the daemon says.
  harmed: ReadonlySet<string>;
}

interface ToldOfNode {
  passband_mhz?: number[];
  carriers: CarriersAtNode;
  through: ThroughNode;
}

const truth = (settings: Settings, curve: Curve, told: ToldOfNode): Truth => ({
  settings,
  curve,
  window: windowOf(told),
  told: toldOf(told.carriers, told.through),
});

// What the daemon has computed of the node: of its edits, and of the settings that it has.
function useTruths(node: string, told: Told, supposed: Supposed | null): readonly Truth[] {
  const { spectrum, settings } = told;
  const entry = useMemo(
    () => spectrum.nodes.find((candidate) => candidate.node === node),
    [spectrum, node],
  );
  const known = settings.get(node);
  return useMemo(() => {
    const response = supposed?.response;
    return [
      ...(response ? [truth(response.settings, response, response)] : []),
      ...(entry && known ? [truth(known, entry.response, entry)] : []),
    ];
  }, [supposed, entry, known]);
}

export function useFront(
  node: HeardNode,
  told: Told,
  draft: Draft | undefined,
  supposed: Following<Supposed>,
): InFront {
  const { spectrum } = told;
  const settings = draft?.settings ?? node.seen?.settings ?? node.wanted ?? null;
  const truths = useTruths(node.name, told, supposed.answer);
  const shown = useMemo(
    () => (settings ? curveFor(settings, truths) : null),
    [settings?.gain_db, settings?.centre_mhz, settings?.filter, settings?.power, truths],
  );
  const fates = useMemo(
    () => (shown ? fatesOf(node.name, shown, spectrum.carriers) : []),
    // Where the window is does not matter, only that there is one: it moves with every frame.
    [shown?.told, shown?.window === null, spectrum, node.name],
  );
  const old = useFor(shown !== null && shown.basis !== 'computed', slowAfter, truths);
  const products = useMemo(() => productsAt(node.name, spectrum.products), [spectrum, node.name]);
  const harmed = useMemo(() => new Set(node.carriers.harmed), [node.carriers]);
  return { node: node.name, settings, shown, fates, old, products, harmed };
}
