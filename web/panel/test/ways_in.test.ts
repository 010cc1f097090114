// SPDX-License-Identifier: Apache-2.0
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { fill } from '../src/api/client';
import { askedFor, filtersIn, given, moment, none } from '../src/journal/query';
import { spread } from '../src/node/spread';
import { read, toNode, toView } from '../src/browser/route';
import { parse } from '../src/ui/parse_number';

test('an address leads to a view, and to a node whatever its name', () => {
  assert.equal(read('').view, 'grid');
  assert.equal(read('#/order').view, 'order');
  assert.equal(read('#/nowhere').view, 'grid');
  assert.equal(read(toNode('bow/port 2')).node, 'bow/port 2');
  assert.equal(read('#/node/%').node, undefined);
  assert.equal(read(toView('journal', { node: 'bow', text: 'a b' })).query.get('text'), 'a b');
});

test('names in a path are escaped, and what is not asked is not sent', () => {
  assert.equal(
    fill('/nodes/{node}/explain', { node: 'a/b' }, { carrier: undefined, segment: 'x y' }),
    '/api/v1/nodes/a%2Fb/explain?segment=x+y',
  );
});

test('a number is read as people write it', () => {
  assert.equal(parse(' −3,5 '), -3.5);
  assert.equal(parse('+12'), 12);
  assert.equal(parse('.5'), 0.5);
  for (const text of ['', '-', '1e3', '3 dB', '1.2.3', 'NaN'])
    assert.equal(parse(text), null, text);
});

test('filters of the journal go through the address unharmed', () => {
  const filters = { ...none, node: 'bow', text: 'cable' };
  assert.deepEqual(filtersIn(new URLSearchParams(given(filters))), filters);
  assert.deepEqual(askedFor(none), {
    node: undefined,
    kind: undefined,
    who: undefined,
    text: undefined,
    from: undefined,
    to: undefined,
  });
  assert.equal(moment(''), undefined);
  assert.equal(moment('2026-13-40'), undefined);
  // The daemon knows the clock of the show, and takes it as it was written.
  assert.equal(moment('2026-08-14T18:30'), '2026-08-14T18:30');
});

test('labels that would stand on each other are moved apart', () => {
  assert.deepEqual(spread([10, 12, 40], 15), [10, 25, 40]);
});
