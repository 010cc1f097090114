// SPDX-License-Identifier: Apache-2.0
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { ask, Refused } from '../src/api/client';
import { whyNot } from '../src/edit/why_not';
import { onlyFresh } from '../src/ui/fresh_keys';

test('a key that was held when a dialog opened presses nothing in it', () => {
  const keys = onlyFresh();
  const prevented = (key: string, repeat: boolean, by: 'down' | 'up' = 'down'): boolean => {
    let stopped = false;
    keys[by]({ key, repeat, target: null, preventDefault: () => void (stopped = true) });
    return stopped;
  };
  assert.equal(prevented('Enter', true), true);
  assert.equal(prevented('Enter', false, 'up'), true);
  assert.equal(prevented(' ', false, 'up'), true);
  assert.equal(prevented('Enter', false), false);
  assert.equal(prevented('Enter', true), true);
  assert.equal(prevented('Enter', false, 'up'), false);
  assert.equal(prevented('Backspace', true), false);
});

test('a button that is grey says why, the first thing to do first', () => {
  const fine = {
    live: true,
    held: null,
    crossed: false,
    theirs: false,
    notJudged: false,
    checking: false,
    refused: false,
    unanswered: false,
  };
  assert.equal(whyNot(fine), '');
  assert.match(whyNot({ ...fine, held: 'mara', unanswered: true }), /locked by mara/);
  assert.match(whyNot({ ...fine, theirs: true, held: 'mara' }), /Another controller/);
  assert.match(whyNot({ ...fine, crossed: true, checking: true }), /Somebody else/);
  assert.match(whyNot({ ...fine, checking: true, unanswered: true }), /checking/);
  assert.match(whyNot({ ...fine, unanswered: true }), /who answers/);
});

test('a daemon that never answers is given up, and the person is told so', async () => {
  const before = globalThis.fetch;
  // Takes the request, and only ever ends when it is told to.
  globalThis.fetch = (_, init) =>
    new Promise((_answer, fail) =>
      init?.signal?.addEventListener('abort', () => fail(init.signal?.reason)),
    );
  try {
    await assert.rejects(
      ask('POST', '/switch', {}, {}, { patienceMs: 1 }),
      (error) =>
        error instanceof Refused && /has not answered for 1 s.*journal/.test(error.message),
    );
    // Who gives up by themselves is told nothing.
    const stop = new AbortController();
    const asked = ask('GET', '/rack', {}, undefined, { signal: stop.signal });
    stop.abort();
    await assert.rejects(
      asked,
      (error) => error instanceof DOMException && error.name === 'AbortError',
    );
  } finally {
    globalThis.fetch = before;
  }
});
