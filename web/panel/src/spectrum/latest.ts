// SPDX-License-Identifier: Apache-2.0
// One question under way at most. What is asked meanwhile waits; of that only the latest is asked.

export interface Asker<Question> {
  want: (question: Question) => void;
  // What waits is not asked any more, and what is under way is not told.
  drop: () => void;
}

export function latest<Question, Answer>(
  ask: (question: Question) => Promise<Answer>,
  told: (question: Question, answer: Answer) => void,
  failed: (question: Question, error: unknown) => void,
): Asker<Question> {
  let busy = false;
  let next: { question: Question } | null = null;
  let turn = 0;
  const run = async (question: Question): Promise<void> => {
    busy = true;
    const mine = turn;
    try {
      const answer = await ask(question);
      if (mine === turn) told(question, answer);
    } catch (error) {
      if (mine === turn) failed(question, error);
    } finally {
      busy = false;
      const waiting = next;
      next = null;
      if (waiting) void run(waiting.question);
    }
  };
  return {
    want: (question) => {
      if (busy) next = { question };
      else void run(question);
    },
    drop: () => {
      ++turn;
      next = null;
    },
  };
}
