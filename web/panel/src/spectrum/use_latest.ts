// SPDX-License-Identifier: Apache-2.0
// As ui/use_answer, but for what changes with every frame: nothing is cut short, so that answers
// keep coming while the question moves on.
import { useEffect, useLayoutEffect, useRef } from 'preact/hooks';
import { useAnswers, type Following } from '../ui/use_answer';
import { latest, type Asker } from './latest';

export function useLatest<T>(question: string | null, load: () => Promise<T>): Following<T> {
  const { following, take, refuse, forget } = useAnswers<T>(question);
  const asker = useRef<Asker<{ text: string; load: () => Promise<T> }> | null>(null);
  useEffect(() => () => asker.current?.drop(), []);
  // Not after the next frame, which an effect would wait for.
  useLayoutEffect(() => {
    asker.current ??= latest(
      (asked) => asked.load(),
      ({ text }, answer) => take(text, answer),
      ({ text }, error) => refuse(text, error),
    );
    if (question === null) {
      asker.current.drop();
      forget();
    } else {
      asker.current.want({ text: question, load });
    }
  }, [question]);
  return following;
}
