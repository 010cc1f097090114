// SPDX-License-Identifier: Apache-2.0
import assert from 'node:assert/strict';
import { test } from 'node:test';
import type { Lane, Segment, ThroughNode } from '../src/api/types';
import { along, axisOf, plainAxis, toAxis, toMhz } from '../src/model/axis';
import { curveFor, gainAt, moved, toldOf, type Shown, type Truth } from '../src/spectrum/curve';
import { hit } from '../src/spectrum/hit';
import { withRoom } from '../src/spectrum/labels';
import { latest } from '../src/spectrum/latest';
import { fates, productsAt, type Carrier } from '../src/spectrum/passing';
import * as scale from '../src/spectrum/scale';
import { slid } from '../src/spectrum/sliding';
import { fateWords, summary } from '../src/spectrum/words';

const full = [460, 680] as const;
const near = (value: number, other: number): void =>
  assert.ok(Math.abs(value - other) < 1e-9, `${value} is not ${other}`);

test('what is pointed at stays where it is while one looks closer', () => {
  const closer = scale.zoomed(full, full, 2, 515);
  near(closer[1] - closer[0], 110);
  near((515 - closer[0]) / 110, (515 - 460) / 220);
  assert.deepEqual(scale.zoomed(closer, full, 1 / 2, 515), [460, 680]);
});

test('the sight never leaves the span of the show, nor gets narrower than it may', () => {
  assert.deepEqual(scale.panned([500, 520], full, -1000), [460, 480]);
  assert.deepEqual(scale.panned([500, 520], full, 1000), [660, 680]);
  assert.deepEqual(scale.zoomed(full, full, 1 / 8, 500), [460, 680]);
  const narrow = scale.zoomed(full, full, 1e9, 680);
  near(narrow[1] - narrow[0], scale.narrowest);
  near(narrow[1], 680);
});

test('two fingers take along what was under them', () => {
  const after = scale.pinched([500, 600], full, [0.25, 0.75], [0.3, 0.9]);
  const at = (share: number): number => after[0] + share * (after[1] - after[0]);
  near(at(0.3), 525);
  near(at(0.9), 575);
});

test('ticks are round, within what is in sight, and no more than there is room for', () => {
  assert.deepEqual(scale.ticks([460.3, 673.7], 5), [500, 550, 600, 650]);
  assert.deepEqual(scale.ticks([520, 521], 5), [520, 520.2, 520.4, 520.6, 520.8, 521]);
  for (const [low, high] of [
    [460.3, 673.7],
    [520.01, 521.01],
    [0, 4000],
  ] as const)
    for (const most of [1, 3, 7, 20]) {
      const found = scale.ticks([low, high], most);
      assert.ok(found.length <= most + 1, `${found.length} for ${most}`);
      assert.ok(found.every((mhz) => mhz >= low - 1e-6 && mhz <= high + 1e-6));
    }
});

test('a place and its frequency lead to each other; a dB is as high on both scales', () => {
  const frame = scale.frameOf(900, 400, 1, plainAxis([0, 1000]), [500, 600], 10);
  near(scale.xOf(frame, 500), frame.left);
  near(scale.xOf(frame, 600), frame.right);
  near(scale.mhzOf(frame, scale.xOf(frame, 537.025)), 537.025);
  near(scale.xOf(frame, 501) - scale.xOf(frame, 500), 1 / scale.mhzPerPixel(frame));
  near(scale.yOf(frame, -10) - scale.yOf(frame, -9), 1 / scale.dbPerPixel(frame));
  near(scale.yOfLevel(frame, -20), scale.yOf(frame, -30));
  assert.equal(scale.yOfLevel(frame, -200), frame.bottom);
});

const curve = { frequency_mhz: [500, 517, 557, 600], gain_db: [-30, 3, 3, -37] };

test('between its points a curve is straight, and beyond its ends it goes on as it ends', () => {
  assert.equal(gainAt(curve, 537), 3);
  near(gainAt(curve, 508.5), -13.5);
  assert.equal(gainAt(curve, 517), 3);
  assert.equal(gainAt(curve, 400), -30);
  assert.equal(gainAt(curve, 700), -37);
});

test('a curve that is moved has the same gains, elsewhere', () => {
  const there = moved(curve, 10, 2);
  for (const mhz of [500, 511.3, 520, 557, 599])
    near(gainAt(there, mhz + 10), gainAt(curve, mhz) + 2);
  assert.equal(moved(curve, 0, 0), curve);
});

const settings = { gain_db: 6, filter: 'slide-40', centre_mhz: 537, power: true, label: '' };
const window = [517, 557] as const;
const down = (db: number): ThroughNode[string] => ({ gain_db: 3 - db, down_db: db });
const told = toldOf(
  {
    own: ['inside', 'edge', 'a', 'b'],
    passed: ['inside', 'a', 'others', 'ears'],
    outside: ['edge', 'b'],
    let_in: ['ears', 'grazing'],
  },
  {
    inside: down(0),
    edge: down(0.9),
    a: down(0),
    b: down(30),
    others: down(0),
    ears: down(0),
    grazing: down(1.3),
    near: down(12),
    // Not where straight lines between the points of the curve would have it.
    far: down(40.4),
  },
);
const truth: Truth = { settings, curve, window, told };

test('until the daemon has answered, its last curve is drawn where it is about to be', () => {
  const exact = curveFor({ ...settings, label: 'other' }, [truth]);
  assert.equal(exact?.basis, 'computed');
  assert.equal(exact?.curve, curve);
  const shifted = curveFor({ ...settings, centre_mhz: 540, gain_db: 4 }, [truth]);
  assert.equal(shifted?.basis, 'moved');
  assert.deepEqual(shifted?.window, [520, 560]);
  near(gainAt(shifted!.curve, 540), 1);
});

test('a curve of another filter, or without power, is not taken for a moved one', () => {
  const other = curveFor({ ...settings, filter: 'slide-24', centre_mhz: 545 }, [truth]);
  assert.equal(other?.basis, 'before');
  assert.deepEqual(other?.window, window);
  const off = curveFor({ ...settings, power: false }, [truth]);
  assert.equal(off?.basis, 'before');
  const passive: Truth = { ...truth, settings: { ...settings, power: false }, window: null };
  assert.equal(gainAt(curveFor({ ...passive.settings, gain_db: 9 }, [passive])!.curve, 537), 3);
  assert.equal(curveFor(settings, []), null);
});

const carrier = (name: string, mhz: number, otherwise: Partial<Carrier> = {}): Carrier => ({
  name,
  use: 'receive',
  frequency_mhz: mhz,
  bandwidth_khz: 200,
  live: true,
  receivers: ['vocals'],
  at_nodes: { bow: -40 },
  ...otherwise,
});
const out: Partial<Carrier> = { use: 'transmit', receivers: [] };
const shown = curveFor(settings, [truth])!;

test('what becomes of a carrier, and how far down it is, is as the daemon says', () => {
  const [inside, edge, grazing, far, ...more] = fates('bow', shown, [
    carrier('inside', 537),
    carrier('edge', 556.45),
    carrier('grazing', 557.55, out),
    carrier('far', 600, { ...out, at_nodes: {} }),
    carrier('never-told', 540),
  ]);
  assert.deepEqual(more, []);
  assert.deepEqual([inside?.own, inside?.passed, inside?.wrong], [true, true, undefined]);
  assert.equal(inside?.level_dbm, -40);
  assert.deepEqual([edge?.passed, edge?.wrong], [false, 'not-passed']);
  assert.deepEqual([grazing?.own, grazing?.passed, grazing?.wrong], [false, false, 'let-in']);
  assert.deepEqual([far?.passed, far?.wrong], [false, undefined]);
  assert.ok(!('level_dbm' in far!));
  assert.equal(inside?.gain_db, 3);
  assert.equal(far?.down_db, 40.4);
  assert.equal(fateWords(far!), 'rejected by 40.4 dB');
});

test('while a window is drawn along, its carriers stay as the daemon said them last', () => {
  const along = curveFor({ ...settings, centre_mhz: 557 }, [truth])!;
  assert.equal(along.basis, 'moved');
  const all = [carrier('inside', 537), carrier('edge', 556.45), carrier('ears', 577.55, out)];
  assert.deepEqual(fates('bow', along, all), fates('bow', shown, all));
  const there: Truth = {
    settings: { ...settings, centre_mhz: 557 },
    curve: along.curve,
    window: [537, 577],
    told: toldOf(
      { own: ['inside', 'edge'], passed: ['edge'], outside: ['inside'], let_in: ['ears'] },
      { inside: down(1), edge: down(0), ears: down(1) },
    ),
  };
  const said = curveFor({ ...settings, centre_mhz: 557 }, [there, truth])!;
  assert.equal(said.basis, 'computed');
  assert.deepEqual(
    fates('bow', said, all).map(({ passed, wrong }) => [passed, wrong]),
    [
      [false, 'not-passed'],
      [true, undefined],
      [false, 'let-in'],
    ],
  );
});

const open: Shown = {
  ...shown,
  window: null,
  told: toldOf(
    { own: ['mic'], passed: ['mic', 'ears'], outside: [], let_in: ['ears'] },
    { mic: down(0), ears: down(0) },
  ),
};

test('without a filter everything is passed, and that is not called wrong here', () => {
  assert.deepEqual(
    fates('bow', open, [carrier('mic', 600), carrier('ears', 650, out)]).map(
      ({ passed, wrong }) => [passed, wrong],
    ),
    [
      [true, undefined],
      [true, undefined],
    ],
  );
});

test('the summary counts microphones, and names the transmitter that is rejected least', () => {
  const all = fates('bow', shown, [
    carrier('a', 537),
    carrier('b', 590),
    carrier('near', 570, out),
    carrier('far', 600, out),
    carrier('others', 530, { receivers: ['band'] }),
  ]);
  const words = summary(all, []);
  assert.equal(words.own, 'passes 1 of its 2 microphones');
  assert.match(words.rejects ?? '', /^rejects .* by \d+\.\d dB or more \(least: near\)$/);
  assert.equal(words.wrong, true);
});

test('a transmitter that is let through is told before how far down the others are', () => {
  const far = carrier('far', 600, out);
  const some = fates('bow', shown, [carrier('ears', 537, out), far]);
  assert.equal(
    summary(some, []).rejects,
    "lets 1 of the show's 2 transmitters through (ears)",
  );
  const all = fates('bow', open, [carrier('ears', 650, out)]);
  assert.equal(summary(all, []).rejects, "rejects none of the show's own transmitters");
  assert.equal(summary(fates('bow', shown, []), []).rejects, null);
});

test('products are those of the node, the strongest first', () => {
  const one = { carriers: ['a', 'b'], lands_on: 'c', order: 3 as const, at_mhz: 530 };
  const found = productsAt('bow', [
    { node: 'bow', level_dbm: -120, ...one },
    { node: 'stern', level_dbm: -60, ...one },
    { node: 'bow', level_dbm: -90, ...one },
  ]);
  assert.deepEqual(
    found.map((product) => product.level_dbm),
    [-90, -120],
  );
});

test('a tap means the curve that is nearest, and goes through those that lie on each other', () => {
  const low = { frequency_mhz: curve.frequency_mhz, gain_db: curve.gain_db.map((db) => db - 20) };
  const pile = [
    { node: 'a', curve },
    { node: 'b', curve },
    { node: 'low', curve: low },
  ];
  const tap = (selected: string, mhz: number, db: number): string | null =>
    hit(pile, selected, mhz, db, 0.2, 0.25);
  assert.equal(tap('low', 537, 2), 'a');
  assert.equal(tap('a', 537, 2), 'b');
  assert.equal(tap('b', 537, 2), 'a');
  assert.equal(tap('a', 537, -16.5), 'low');
  assert.equal(tap('a', 537, -60), null);
  // On a slope 2 MHz beside it is 10 px away, though 4 dB below is more.
  assert.equal(tap('b', 576.5, gainAt(curve, 578.5)), 'a');
});

test('words that have no room are left out, the first ones last', () => {
  const box = (x: number): { x: number; y: number; width: number; height: number } => ({
    x,
    y: 0,
    width: 10,
    height: 10,
  });
  assert.deepEqual(withRoom([box(0), box(5), box(10), box(95)], [box(30)], 0, 100), [0, 2]);
  assert.deepEqual(withRoom([box(25), box(40)], [box(30)], 0, 100), [1]);
});

// Keys of a slider: WAI-ARIA Authoring Practices, "Slider Pattern", keyboard interaction (from memory).
test('keys move a slider by its steps, and never out of its range', () => {
  const steps = { lowest: 430, highest: 740, step: 0.025 };
  assert.equal(slid('ArrowRight', 537, steps, 1), 537.025);
  assert.equal(slid('ArrowUp', 537, steps, 1), 537.025);
  assert.equal(slid('ArrowLeft', 537, steps, 1), 536.975);
  assert.equal(slid('PageUp', 537, steps, 1), 538);
  assert.equal(slid('PageDown', 430.5, steps, 1), 430);
  assert.equal(slid('Home', 537, steps, 1), 430);
  assert.equal(slid('End', 537, steps, 1), 740);
  assert.equal(slid('Enter', 537, steps, 1), null);
  assert.equal(slid('ArrowDown', -12, { lowest: -12, highest: 20, step: 1 }, 3), -12);
});

test('one question is under way at most, and of those that wait only the latest is asked', async () => {
  const waiting: { question: number; answer: (text: string) => void; fail: () => void }[] = [];
  const told: string[] = [];
  const asker = latest<number, string>(
    (question) =>
      new Promise((resolve, reject) =>
        waiting.push({ question, answer: resolve, fail: () => reject(new Error(`${question}`)) }),
      ),
    (question, answer) => told.push(`${question}: ${answer}`),
    (question) => told.push(`${question} failed`),
  );
  const turns = async (): Promise<void> => {
    for (let i = 0; i < 10; ++i) await Promise.resolve();
  };
  for (const question of [1, 2, 3]) asker.want(question);
  assert.deepEqual(
    waiting.map(({ question }) => question),
    [1],
  );
  waiting[0]?.answer('yes');
  await turns();
  assert.deepEqual(told, ['1: yes']);
  assert.equal(waiting[1]?.question, 3);
  waiting[1]?.fail();
  await turns();
  assert.deepEqual(told, ['1: yes', '3 failed']);
  // What was dropped is not told, and does not hold up what comes after.
  asker.want(4);
  asker.drop();
  asker.want(5);
  waiting[2]?.answer('late');
  await turns();
  assert.equal(waiting[3]?.question, 5);
  waiting[3]?.answer('yes');
  await turns();
  assert.deepEqual(told.slice(2), ['5: yes']);
});

const segmentWith = (
  carriers: readonly [number, number][],
  lanes: readonly Lane[] = [],
): Segment => ({
  name: 'show',
  title: 'Show',
  settings: {},
  if_a_node_fails: 'roll back',
  lanes: [...lanes],
  carriers: carriers.map(([frequency_mhz, bandwidth_khz], i) => ({
    name: `c${i}`,
    use: 'receive',
    frequency_mhz,
    bandwidth_khz,
    receivers: [],
  })),
});

test('one link far above the microphones leaves them most of the axis', () => {
  const axis = axisOf([
    segmentWith(
      [
        [500, 200],
        [600, 200],
        [2210, 20000],
      ],
      [
        { name: 'mics', purpose: 'receive', band_mhz: [480, 640] },
        { name: 'all else', purpose: 'closed', band_mhz: [700, 2700] },
      ],
    ),
  ]);
  assert.ok(axis);
  assert.deepEqual(
    axis.stretches.map(({ gap }) => gap),
    [false, true, false],
  );
  // 160 of 180 MHz in use are the microphones'.
  const share = along(axis, 640) - along(axis, 480);
  assert.ok(share > 0.7, `${share}`);
  // Within a band a MHz is a MHz, and there and back is the same place, gaps included.
  near(toAxis(axis, 520) - toAxis(axis, 510), 10);
  near(toAxis(axis, 2215) - toAxis(axis, 2205), 10);
  for (const mhz of [400, 480, 555.5, 700, 1500, 2210, 3000])
    near(toMhz(axis, toAxis(axis, mhz)), mhz);
  for (let mhz = 470; mhz < 2300; ++mhz) assert.ok(toAxis(axis, mhz) < toAxis(axis, mhz + 1));
});

test('what stands together is not torn apart, and no mark stands in a gap', () => {
  const together = axisOf([
    segmentWith([], [
      { name: 'low', purpose: 'receive', band_mhz: [470, 494] },
      { name: 'high', purpose: 'transmit', band_mhz: [540, 600] },
    ]),
  ]);
  assert.equal(together?.stretches.length, 1);
  assert.equal(axisOf([]), null);

  const torn = axisOf([segmentWith([[500, 200]]), segmentWith([[900, 200]])]);
  assert.ok(torn);
  const frame = scale.frameOf(800, 400, 1, torn, [0, torn.length], -40);
  const marks = scale.marks(frame, 8);
  const gap = torn.stretches.find((stretch) => stretch.gap);
  assert.ok(gap && marks.length > 0);
  for (const mhz of marks) assert.ok(mhz <= gap.from || mhz >= gap.to, `${mhz}`);
  near(scale.mhzOf(frame, scale.xOf(frame, 900)), 900);
});
