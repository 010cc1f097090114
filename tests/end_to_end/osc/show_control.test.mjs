// SPDX-License-Identifier: Apache-2.0
// Show control as a show-control program meets it: over UDP, with an OSC codec that is not ours.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';

import { Daemon } from './daemon.mjs';
import { Desk, message } from './desk.mjs';
import { eventually } from './eventually.mjs';

const cues = [
  { segment: 'arrival' },
  { segment: 'speeches' },
  { segment: 'lantern-parade', message: 'lanterns' },
  { segment: 'finale' },
];
const seconds = (count) => new Date(Date.now() + count * 1000);

let desk; // gives commands
let board; // is configured to be told
let stranger;
let daemon;

// The two replies to a switch.
async function switched(command) {
  const begun = await desk.reply(command);
  return begun.values[1] === 'accepted' ? [begun, await desk.reply(command)] : [begun];
}

async function go(segment) {
  desk.send(daemon.port, '/catwalk/go', segment);
  const outcomes = (await switched('go')).map((one) => one.values[1]);
  assert.deepEqual(outcomes, ['accepted', 'done']);
}

before(async () => {
  [desk, board, stranger] = [await Desk.open(), await Desk.open(), await Desk.open()];
  daemon = await Daemon.start({
    senders: [desk.address, board.address],
    subscribers: [board.address],
    cues,
    lineDelay: 40,
  });
  await eventually('every node answers', async () =>
    (await daemon.get('/nodes')).nodes.every((one) => one.link === 'answering'),
  );
});

after(async () => {
  for (const one of [desk, board, stranger]) one.close();
  assert.equal(await daemon.stop(), 0);
});

test('a configured subscriber is told without asking, and whoever subscribes at once', async () => {
  await board.stateIs('segment', ['arrival']);
  assert.equal(desk.states, 0);
  desk.send(daemon.port, '/catwalk/subscribe');
  const reply = await desk.reply('subscribe');
  assert.equal(reply.values[1], 'done');
  assert.match(reply.values[2], new RegExp(`^${desk.address} `));
  await desk.stateIs('segment', ['arrival']);
  assert.deepEqual(desk.state.next, ['arrival', 'arrival']);
  assert.deepEqual(desk.state.lock, [0, '', '']);
  assert.deepEqual(desk.state.switch, ['', '', 'none', 0, 0, 0, 0, 0, '']);
});

test('a preview tells steps, milliseconds and nodes, and moves nothing', async () => {
  desk.send(daemon.port, '/catwalk/preview', 'finale');
  const { values, types } = await desk.reply('preview');
  assert.deepEqual(types.slice(0, 6),
    ['string', 'string', 'string', 'integer', 'integer', 'integer']);
  const preview = await daemon.get('/segments/finale/preview');
  assert.equal(values[0], 'finale');
  assert.equal(values[1], preview.would_be);
  assert.equal(values[3], preview.steps.length);
  assert.equal(values[4], Math.ceil(preview.time_ms));
  assert.equal(values[5], preview.nodes.length);
  assert.deepEqual(values.slice(6), preview.obstacles);
  assert.equal((await daemon.get('/rack')).segment, 'arrival');
});

test('go to a named segment is replied to twice, and every subscriber sees its nodes arrive', async () => {
  await go('arrival');
  desk.send(daemon.port, '/catwalk/go', 'finale');
  const [begun, ended] = await switched('go');
  assert.deepEqual(begun.values.slice(0, 2), ['finale', 'accepted']);
  assert.deepEqual(ended.values.slice(0, 2), ['finale', 'done']);
  for (const one of [desk, board]) {
    await one.stateIs('segment', ['finale']);
    await one.stateIs('switch', ['arrival', 'finale', 'done']);
    const [, , , back, step, steps, there, all] = one.state.switch;
    assert.equal(back, 0);
    assert.ok(steps >= 1 && step === steps);
    assert.ok(all >= 1 && there === all);
    const stages = one.history.map((state) => state[2]);
    assert.ok(stages.some((stage) => ['staging', 'applying', 'reading-back'].includes(stage)));
  }
  const rack = await daemon.get('/rack');
  assert.equal(rack.segment, 'finale');
  const nodes = (await daemon.get('/nodes')).nodes;
  assert.ok(nodes.every((one) => one.agreement === 'agreed'));
  const rows = (await daemon.get('/journal?limit=100')).entries;
  assert.ok(rows.some((row) => row.kind === 'switch' && row.who === `osc ${desk.address}`));
});

test('a locked rack refuses, until its next cue is armed', async () => {
  await go('arrival');
  desk.send(daemon.port, '/catwalk/lock');
  assert.equal((await desk.reply('lock')).values[1], 'done');
  await board.stateIs('lock', [1, `osc ${desk.address}`]);
  desk.send(daemon.port, '/catwalk/next');
  assert.equal((await desk.reply('next')).values[1], 'refused');
  desk.send(daemon.port, '/catwalk/arm');
  assert.equal((await desk.reply('arm')).values[1], 'done');
  await board.stateIs('armed', ['speeches', `osc ${desk.address}`]);
  desk.send(daemon.port, '/catwalk/next');
  assert.deepEqual((await switched('next')).map((one) => one.values[1]), ['accepted', 'done']);
  await board.stateIs('segment', ['speeches']);
  await board.stateIs('armed', ['']);
  desk.send(daemon.port, '/catwalk/arm', 'finale');
  assert.equal((await desk.reply('arm')).values[1], 'done');
  desk.send(daemon.port, '/catwalk/disarm');
  assert.equal((await desk.reply('disarm')).values[1], 'done');
  desk.send(daemon.port, '/catwalk/unlock');
  assert.equal((await desk.reply('unlock')).values[1], 'done');
  await board.stateIs('lock', [0]);
});

test('a message triggers the cue that waits for it', async () => {
  await desk.stateIs('next', ['lantern-parade', 'lantern-parade']);
  desk.send(daemon.port, '/catwalk/message', 'fireworks');
  assert.equal((await desk.reply('message')).values[1], 'refused');
  desk.send(daemon.port, '/catwalk/message', 'lanterns');
  assert.deepEqual((await switched('message')).map((one) => one.values[1]), ['accepted', 'done']);
  await board.stateIs('segment', ['lantern-parade']);
  assert.equal((await daemon.get('/switch')).triggered_by, 'message');
});

test('an abort rolls back what has begun', async () => {
  // Once more if the switch was done before the abort came.
  for (let targets = ['finale', 'arrival'], i = 0; ; ++i) {
    assert.ok(i < 20, 'every abort came too late');
    const from = desk.state.segment[0];
    desk.send(daemon.port, '/catwalk/go', targets[i % 2]);
    assert.equal((await desk.reply('go')).values[1], 'accepted');
    desk.send(daemon.port, '/catwalk/abort');
    const [abort, end] = [await desk.reply('abort'), await desk.reply('go')];
    await desk.stateIs('switch', [from, targets[i % 2], end.values[1]]);
    if (abort.values[1] !== 'done') continue;
    assert.equal(end.values[1], 'rolled-back');
    await board.stateIs('switch', [from, targets[i % 2], 'rolled-back']);
    assert.equal(board.state.switch[6], board.state.switch[7]); // all are where they were
    await board.stateIs('segment', [from]);
    break;
  }
});

test('wrong arguments are replied to with the argument, its value, and what is allowed', async () => {
  desk.send(daemon.port, '/catwalk/go', { type: 'integer', value: 5 });
  assert.match((await desk.reply('go')).values[2],
    /^SEGMENT: 5 \(int32\) is no string; allowed: a segment of the show: "arrival", /);
  desk.send(daemon.port, '/catwalk/go', 'intermission');
  assert.match((await desk.reply('go')).values[2], /^SEGMENT: "intermission" is not allowed; /);
  desk.send(daemon.port, '/catwalk/abort', { type: 'float', value: 1 });
  assert.equal((await desk.reply('abort')).values[2],
    'Argument 1: 1 (float32) is one too many; allowed: none.');
  desk.send(daemon.port, '/house/lights');
  assert.deepEqual((await desk.reply('')).values.slice(0, 2), ['/house/lights', 'not-understood']);
});

test('a bundle is carried out whole and in order, now or at its time, or not at all', async () => {
  const { port } = daemon;
  desk.sendBundle(port, seconds(-5), [['/catwalk/lock'], ['/catwalk/ping']]);
  await desk.reply('lock');
  assert.deepEqual((await desk.reply('ping')).values, ['', 'done', 'harbour-bench']);
  await desk.stateIs('lock', [1]);

  desk.sendBundle(port, seconds(0), [['/catwalk/unlock'], ['/catwalk/go', 'intermission']]);
  assert.match((await desk.reply('')).values[2], /^Nothing of the bundle was done/);
  await desk.reply('go');
  assert.equal((await daemon.get('/rack')).locked, true);

  const asked = Date.now();
  desk.sendBundle(port, seconds(2), [['/catwalk/unlock']]);
  assert.equal((await desk.reply('unlock')).values[1], 'scheduled');
  assert.equal((await desk.reply('unlock')).values[1], 'done');
  assert.ok(Date.now() - asked >= 1999);
  await desk.stateIs('lock', [0]);

  desk.sendBundle(port, seconds(60), [['/catwalk/lock']]);
  assert.match((await desk.reply('')).values[2], /ahead; allowed: up to 10\.0 s\.$/);
});

test('strangers are dropped and counted', async () => {
  const before = await daemon.total('stranger');
  stranger.send(daemon.port, '/catwalk/lock');
  stranger.send(daemon.port, '/catwalk/subscribe');
  await eventually('both are counted', async () => (await daemon.total('stranger')) === before + 2);
  desk.send(daemon.port, '/catwalk/ping');
  await desk.reply('ping');
  assert.deepEqual(stranger.replies, []);
  assert.equal(stranger.states, 0);
  assert.deepEqual(desk.state.lock[0], 0);
  assert.match(daemon.log, /show control: dropped a datagram from 127\.0\.0\.1:\d+, which is not/);
});

test('malformed datagrams are dropped and counted, and the daemon goes on serving', async () => {
  const before = await daemon.total('malformed');
  const whole = message('/catwalk/go', 'arrival');
  let rubbish = 0;
  // Cut after its address it would be a message without arguments, as old senders write one.
  for (let size = 0; size < whole.length; size += 1)
    if (size !== 12) {
      desk.sendBytes(daemon.port, whole.subarray(0, size));
      rubbish += 1;
      // One after the other, so that no buffer overflows.
      await eventually(`all ${rubbish} are counted`,
        async () => (await daemon.total('malformed')) === before + rubbish);
    }
  for (const bytes of [
    Buffer.from('#bundle\0\0\0\0\0\0\0\0\x01\xff\xff\xff\xff', 'latin1'),
    Buffer.alloc(9000, 0x2f),
    Buffer.from('GET / HTTP/1.1\r\n\r\n'),
  ]) {
    desk.sendBytes(daemon.port, bytes);
    rubbish += 1;
  }
  await eventually('all are counted',
    async () => (await daemon.total('malformed')) === before + rubbish);
  assert.equal(rubbish, whole.length + 2);
  const unread = await daemon.total('unread');
  desk.send(daemon.port, '/catwalk/lock', { type: 'blob', value: Buffer.from([1, 2, 3]) });
  await eventually('the blob is counted', async () => (await daemon.total('unread')) === unread + 1);
  desk.send(daemon.port, '/catwalk/ping');
  assert.equal((await desk.reply('ping')).values[1], 'done');
  assert.equal((await fetch(`${daemon.url}/healthz`)).status, 200);
  assert.deepEqual(desk.replies, []);
  assert.equal((await daemon.get('/rack')).locked, false);
});

test('whoever unsubscribes is told no more', async () => {
  desk.send(daemon.port, '/catwalk/unsubscribe');
  assert.equal((await desk.reply('unsubscribe')).values[1], 'done');
  const told = desk.states;
  desk.send(daemon.port, '/catwalk/lock');
  await board.stateIs('lock', [1]);
  desk.send(daemon.port, '/catwalk/ping');
  await desk.reply('ping');
  assert.equal(desk.states, told);
});
