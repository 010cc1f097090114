// SPDX-License-Identifier: Apache-2.0
// The spectrum of the active segment, asked again when the feed tells of anything that it rests on.
import { get } from '../api/client';
import type { Settings, Spectrum } from '../api/types';
import { state } from '../feed/store';
import { useAnswer, type Following } from '../ui/use_answer';

export interface Told {
  spectrum: Spectrum;
  // Of each node, when it was asked.
  settings: ReadonlyMap<string, Settings>;
}

const settle = 60; // ms; a switch moves many nodes at once

export function useSpectrum(): Following<Told> {
  const { rack, nodes, switching } = state.value;
  const rests = [...nodes.values()].map((node) => [
    node.name,
    node.seen?.settings ?? node.wanted,
    node.seen?.passive,
  ]);
  return useAnswer(
    rack
      ? JSON.stringify([rack.revision, rack.segment, switching?.id, switching?.stage, rests])
      : null,
    async (signal) => {
      const settings = new Map<string, Settings>();
      for (const node of state.value.nodes.values()) {
        const known = node.seen?.settings ?? node.wanted;
        if (known) settings.set(node.name, known);
      }
      return { spectrum: await get('/spectrum', {}, { signal }), settings };
    },
    settle,
  );
}
