// SPDX-License-Identifier: Apache-2.0
// The one place that holds what the daemon said. `live` is the word on whether it may be taken for
// true.
import { batch, computed, signal } from '@preact/signals';
import { tellTimesIn } from '../model/format';
import { pauseBefore } from './pause';
import { apply, isGap, nothing, type Message, type RackState } from './state';

export const state = signal<RackState>(nothing);

export type Connection =
  | { at: 'connecting' }
  | { at: 'live' }
  // `since`: wall clock of this machine, when the last message had come.
  | { at: 'lost'; since: number; why: string }
  | { at: 'signed-out' };
export const connection = signal<Connection>({ at: 'connecting' });
export const live = computed(() => connection.value.at === 'live');

// Ticks for ages and countdowns; ms of the steady clock.
export const tick = signal(performance.now());
// What to add to this machine's wall clock to have the daemon's, ms.
const clockDifference = signal(0);
export const daemonClock = (): number => Date.now() + clockDifference.value;

const quietForMs = 5000; // then the feed is asked for a sign of life
const answerWithinMs = 4000;

let socket: WebSocket | null = null;
let attempt = 0;
let lastMessage = 0;
let asked = false;
let retry: ReturnType<typeof setTimeout> | undefined;
let wanted = false;

function take(message: Message, heard: number): void {
  if (message.type === 'problem') return;
  if (isGap(state.value, message)) {
    socket?.send('{"type":"snapshot"}');
    return;
  }
  if ('running_order' in message && message.running_order)
    tellTimesIn(message.running_order.zone);
  state.value = apply(state.value, message, heard);
  if (message.type === 'hello') {
    // A feed that was resumed in place sends nothing more until something happens.
    if (state.value.sequence !== message.sequence) return;
  } else {
    clockDifference.value = Date.parse(message.at) - Date.now();
  }
  attempt = 0;
  if (!live.value) connection.value = { at: 'live' };
}

// Messages are taken together when a frame is drawn: a page that draws slower than the daemon tells
// draws less often, instead of falling behind for good. Out of sight no frame is drawn.
const longestHeldMs = 250;
let held: { message: Message; heard: number }[] = [];
let taking: { frame: number; timer: ReturnType<typeof setTimeout> } | null = null;

function takeHeld(): void {
  if (taking) {
    cancelAnimationFrame(taking.frame);
    clearTimeout(taking.timer);
  }
  taking = null;
  const messages = held;
  held = [];
  batch(() => {
    for (const { message, heard } of messages) take(message, heard);
  });
}

function hold(message: Message): void {
  lastMessage = performance.now();
  asked = false;
  held.push({ message, heard: lastMessage });
  taking ??= {
    frame: requestAnimationFrame(takeHeld),
    timer: setTimeout(takeHeld, longestHeldMs),
  };
}

function lose(why: string): void {
  if (connection.value.at === 'live' || connection.value.at === 'connecting')
    connection.value = {
      at: 'lost',
      since: Date.now() - (lastMessage ? performance.now() - lastMessage : 0),
      why,
    };
}

function open(): void {
  const { server, sequence } = state.value;
  const resume =
    server !== null && sequence !== null
      ? `&server=${encodeURIComponent(server)}&since=${sequence}`
      : '';
  const scheme = location.protocol === 'https:' ? 'wss' : 'ws';
  const mine = new WebSocket(`${scheme}://${location.host}/api/v1/live?nodes=patches${resume}`);
  socket = mine;
  asked = false;
  lastMessage = lastMessage || performance.now();
  const openedAt = performance.now();
  const ended = (why: string, code: number): void => {
    if (socket !== mine) return;
    takeHeld();
    socket = null;
    if (code === 4401) {
      wanted = false;
      connection.value = { at: 'signed-out' };
      return;
    }
    lose(why);
    if (wanted) retry = setTimeout(open, pauseBefore(++attempt, Math.random()));
  };
  mine.onmessage = (event: MessageEvent<string>) => {
    if (socket === mine) hold(JSON.parse(event.data) as Message);
  };
  mine.onclose = (event) =>
    ended(event.reason || 'The connection to the daemon ended.', event.code);
  watch = () => {
    const now = performance.now();
    const quiet = now - Math.max(lastMessage, openedAt);
    if (mine.readyState === WebSocket.CONNECTING) {
      if (now - openedAt > answerWithinMs) {
        mine.close();
        ended('The daemon does not answer.', 1006);
      }
    } else if (quiet > quietForMs + answerWithinMs) {
      // A cable that was pulled ends no connection by itself.
      mine.close();
      ended('The daemon says nothing any more.', 1006);
    } else if (quiet > quietForMs && !asked && mine.readyState === WebSocket.OPEN) {
      asked = true;
      mine.send('{"type":"snapshot"}');
    }
  };
}

let watch: () => void = () => {};
let ticking: ReturnType<typeof setInterval> | undefined;

export function startFeed(): void {
  if (wanted) return;
  wanted = true;
  if (connection.value.at === 'signed-out') connection.value = { at: 'connecting' };
  clearTimeout(retry);
  open();
  ticking ??= setInterval(() => {
    tick.value = performance.now();
    if (socket) watch();
  }, 500);
}

export function stopFeed(): void {
  wanted = false;
  clearTimeout(retry);
  const old = socket;
  socket = null;
  old?.close();
  held = [];
  connection.value = { at: 'signed-out' };
  // Nothing stays for whoever signs in next.
  state.value = nothing;
}

// A tablet that was asleep: what it shows is as old as its sleep. Its timers may have stopped too.
document.addEventListener('visibilitychange', () => {
  if (document.hidden || !wanted) return;
  tick.value = performance.now();
  if (socket) {
    watch();
  } else {
    clearTimeout(retry);
    open();
  }
});
