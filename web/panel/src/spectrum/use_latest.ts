// SPDX-License-Identifier: Apache-2.0
// As ui/use_answer, but for what changes with every frame: nothing is cut short, so that answers
// keep coming while the question moves on.
import { useSignal } from '@preact/signals';
import { useEffect, useLayoutEffect, useRef } from 'preact/hooks';
import { Refused } from '../api/client';
import type { Refusal } from '../ui/act';
import type { Following } from '../ui/use_answer';
import { latest, type Asker } from './latest';

export function useLatest<T>(question: string | null, load: () => Promise<T>): Following<T> {
  const answered = useSignal<{ question: string; answer: T } | null>(null);
  const refused = useSignal<{ question: string; refusal: Refusal } | null>(null);
  const asker = useRef<Asker<{ text: string; load: () => Promise<T> }> | null>(null);
  useEffect(() => () => asker.current?.drop(), []);
  // Not after the next frame, which an effect would wait for.
  useLayoutEffect(() => {
    asker.current ??= latest(
      (asked) => asked.load(),
      ({ text }, answer) => {
        answered.value = { question: text, answer };
        refused.value = null;
      },
      ({ text }, error) => {
        if (!(error instanceof Refused)) throw error;
        refused.value = { question: text, refusal: error.problem };
      },
    );
    if (question === null) {
      asker.current.drop();
      answered.value = null;
      refused.value = null;
    } else {
      asker.current.want({ text: question, load });
    }
  }, [question]);
  return {
    answer: answered.value?.answer ?? null,
    old: answered.value !== null && answered.value.question !== question,
    refusal: refused.value?.question === question ? (refused.value?.refusal ?? null) : null,
  };
}
