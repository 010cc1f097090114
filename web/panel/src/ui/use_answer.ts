// SPDX-License-Identifier: Apache-2.0
// An answer that follows what is asked: asked a moment after the question stops changing, and only
// the latest counts. The answer before stays until then, marked as old.
import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import { isAbort, Refused } from '../api/client';
import type { Refusal } from './act';

export interface Following<T> {
  answer: T | null;
  // Of another question than the present one.
  old: boolean;
  refusal: Refusal | null;
}

// `question`: equal text means an equal answer; null asks nothing.
export function useAnswer<T>(
  question: string | null,
  load: (signal: AbortSignal) => Promise<T>,
  pauseMs = 0,
): Following<T> {
  const answered = useSignal<{ question: string; answer: T } | null>(null);
  const refused = useSignal<{ question: string; refusal: Refusal } | null>(null);
  useEffect(() => {
    if (question === null) {
      // Whoever asks again later asks something else.
      answered.value = null;
      refused.value = null;
      return;
    }
    const stop = new AbortController();
    const soon = setTimeout(() => {
      load(stop.signal).then(
        (answer) => {
          if (stop.signal.aborted) return;
          answered.value = { question, answer };
          refused.value = null;
        },
        (error: unknown) => {
          if (isAbort(error) || stop.signal.aborted) return;
          if (!(error instanceof Refused)) throw error;
          refused.value = { question, refusal: error.problem };
        },
      );
    }, pauseMs);
    return () => {
      clearTimeout(soon);
      stop.abort();
    };
  }, [question]);
  const refusal =
    refused.value && refused.value.question === question ? refused.value.refusal : null;
  return {
    answer: answered.value?.answer ?? null,
    old: answered.value !== null && answered.value.question !== question,
    refusal,
  };
}
