// SPDX-License-Identifier: Apache-2.0
// Shows the live feed. Old values are never shown as live: when the feed is gone the page says since when.
'use strict';

const rack = { nodes: new Map(), alarms: [], about: null };
let server = null, sequence = null, lostAt = null, pause = 500, receivedAt = 0;
const at = (id) => document.getElementById(id);

function take(message) {
  if (message.type === 'hello') { server = message.server; return; }
  if (message.type === 'snapshot') rack.nodes = new Map();
  for (const node of message.nodes ?? []) rack.nodes.set(node.name, { ...node, heard: performance.now() });
  if (message.alarms) rack.alarms = message.alarms;
  if (message.rack) rack.about = message.rack;
  if (message.sequence !== undefined) sequence = message.sequence;
}

function state(node) {
  const words = [];
  if (node.link !== 'answering') words.push(node.link.replace('-', ' '));
  if (node.agreement !== 'agreed') words.push(node.agreement);
  if (node.findings.some((finding) => finding.severity === 'refuse')) words.push('off plan');
  if (node.seen && !node.seen.telemetry.powered) words.push('no supply: passive');
  else if (node.seen?.passive) words.push('power off: passive');
  if (node.seen?.quality === 'stale') words.push('stale');
  return { trouble: words.length > 0, text: words.length ? words.join(', ') : 'agreed' };
}

function cell(row, name, text, className = '') {
  const td = row.insertCell();
  td.dataset.name = name;
  td.className = className;
  const inner = document.createElement('span');
  inner.textContent = text;
  td.append(inner);
}

function draw() {
  at('rack').textContent = rack.about ? `${rack.about.name}: ${rack.about.segment}` : 'Catwalk';
  const lock = rack.about?.lock;
  at('lock').hidden = !lock;
  if (lock) at('lock').textContent = `Locked for the show by ${lock.who}${lock.why ? ': ' + lock.why : ''}`;

  at('alarms').replaceChildren(...(rack.alarms.length ? rack.alarms : [null]).map((alarm) => {
    const li = document.createElement('li');
    if (!alarm) { li.textContent = 'None.'; return li; }
    li.className = alarm.active ? 'active' : '';
    li.textContent = `${alarm.active ? '▲ active' : '△ returned'}, ${alarm.acknowledged ? 'acknowledged' : 'not acknowledged'}: ${alarm.sentence}`;
    return li;
  }));

  const rows = [...rack.nodes.values()].map((node) => {
    const row = document.createElement('tr');
    const seen = node.seen, now = state(node);
    cell(row, 'Node', node.name);
    cell(row, 'Hangs', node.hangs);
    cell(row, 'State', (now.trouble ? '▲ ' : '') + now.text, now.trouble ? 'trouble' : '');
    cell(row, 'Gain', seen ? `${seen.settings.gain_db.toFixed(2)} dB` : '–', 'number');
    cell(row, 'Filter', seen ? seen.settings.filter : '–');
    cell(row, 'Passes', seen ? (seen.passband_mhz ? `${seen.passband_mhz.map((f) => f.toFixed(3)).join(' to ')} MHz` : 'everything') : '–', 'number');
    cell(row, 'Supply', seen ? `${seen.telemetry.supply_v.toFixed(1)} V ${seen.telemetry.supply_ma} mA` : '–', 'number');
    cell(row, 'Line', node.line + (seen?.quality === 'simulated' ? ' (simulated)' : ''));
    const age = seen ? (seen.age_ms + performance.now() - node.heard) / 1000 : 0;
    cell(row, 'Read', seen ? `${age.toFixed(1)} s ago` : 'never', 'number');
    return row;
  });
  at('nodes').replaceChildren(...rows);

  document.body.classList.toggle('lost', lostAt !== null);
  at('feed').classList.toggle('lost', lostAt !== null);
  at('feed').textContent = lostAt ? `▲ No live feed since ${lostAt.toLocaleTimeString()}: these are old values` : 'Live';
}

function connect() {
  const resume = server !== null && sequence !== null ? `?server=${server}&since=${sequence}` : '';
  const socket = new WebSocket(`${location.protocol === 'https:' ? 'wss' : 'ws'}://${location.host}/api/v1/live${resume}`);
  socket.onmessage = (event) => { lostAt = null; pause = 500; take(JSON.parse(event.data)); };
  socket.onclose = () => {
    lostAt ??= new Date();
    setTimeout(connect, pause * (0.75 + Math.random() / 2));
    pause = Math.min(pause * 2, 8000);
  };
}

connect();
setInterval(draw, 500);
