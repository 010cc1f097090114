// SPDX-License-Identifier: Apache-2.0
// The segments of the show. They come with a GET, since the feed tells only that the plan has
// changed.
import { computed, effect, signal } from '@preact/signals';
import { get, isAbort, Refused } from '../api/client';
import type { Segment } from '../api/types';
import { axisOf } from '../model/axis';
import { live, state } from './store';

export const segments = signal<readonly Segment[]>([]);
const revision = computed(() => (live.value ? (state.value.rack?.revision ?? null) : null));

export const activeSegment = computed(
  () => segments.value.find((segment) => segment.name === state.value.rack?.segment) ?? null,
);
export const axis = computed(() => axisOf(segments.value));
export const titleOf = (name: string): string =>
  segments.value.find((segment) => segment.name === name)?.title ??
  state.value.rack?.segments.find((segment) => segment.name === name)?.title ??
  name;

effect(() => {
  if (revision.value === null) return;
  const stop = new AbortController();
  get('/segments', {}, { signal: stop.signal }).then(
    (answer) => void (segments.value = answer.segments),
    (error: unknown) => {
      if (isAbort(error)) return;
      // What was told of them before stays; without any there are names and no titles.
      if (!(error instanceof Refused)) throw error;
    },
  );
  return () => stop.abort();
});
