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

interface Answers<T> {
  following: Following<T>;
  take: (question: string, answer: T) => void;
  refuse: (question: string, error: unknown) => void;
  forget: () => void;
}

// Answers and refusals as they come, each with its question.
export function useAnswers<T>(question: string | null): Answers<T> {
  const answered = useSignal<{ question: string; answer: T } | null>(null);
  const refused = useSignal<{ question: string; refusal: Refusal } | null>(null);
  return {
    following: {
      answer: answered.value?.answer ?? null,
      old: answered.value !== null && answered.value.question !== question,
      refusal: refused.value?.question === question ? (refused.value?.refusal ?? null) : null,
    },
    take: (asked, answer) => {
      answered.value = { question: asked, answer };
      refused.value = null;
    },
    refuse: (asked, error) => {
      if (!(error instanceof Refused)) throw error;
      refused.value = { question: asked, refusal: error.problem };
    },
    forget: () => {
      answered.value = null;
      refused.value = null;
    },
  };
}

// `question`: equal text means an equal answer; null asks nothing.
export function useAnswer<T>(
  question: string | null,
  load: (signal: AbortSignal) => Promise<T>,
  pauseMs = 0,
): Following<T> {
  const { following, take, refuse, forget } = useAnswers<T>(question);
  useEffect(() => {
    // Whoever asks again later asks something else.
    if (question === null) return forget();
    const stop = new AbortController();
    const soon = setTimeout(() => {
      load(stop.signal).then(
        (answer) => {
          if (!stop.signal.aborted) take(question, answer);
        },
        (error: unknown) => {
          if (!isAbort(error) && !stop.signal.aborted) refuse(question, error);
        },
      );
    }, pauseMs);
    return () => {
      clearTimeout(soon);
      stop.abort();
    };
  }, [question]);
  return following;
}
