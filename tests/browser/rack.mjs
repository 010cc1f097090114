// SPDX-License-Identifier: Apache-2.0
// The rack under test: the daemon, emulated nodes as programs of their own on a pseudo-terminal and on
// UDP, and files in a folder that is gone afterwards. Ports are those that the system chooses.
import { spawn } from 'node:child_process';
import { createHash } from 'node:crypto';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';

import { eventually } from './eventually.mjs';

const demo = path.join(process.env.CATWALK_SOURCE, 'config', 'demo');
// Rack files may have comments, on lines of their own in the demo.
const read = (file) => JSON.parse(fs.readFileSync(file, 'utf8').replace(/^\s*\/\/.*$/gm, ''));

class Program {
  constructor(file, words) {
    this.said = '';
    this.child = spawn(file, words, { stdio: ['pipe', 'pipe', 'pipe'] });
    for (const stream of [this.child.stdout, this.child.stderr])
      stream.on('data', (text) => (this.said += text));
    this.ended = new Promise((resolve) => this.child.on('exit', resolve));
  }
  // What stands behind `mark` once it is said.
  heard(mark) {
    return eventually(`${this.child.spawnfile} says ${mark}`, () => {
      if (this.child.exitCode !== null) throw new Error(`it ended: ${this.said}`);
      return mark.exec(this.said)?.[1] ?? undefined;
    });
  }
  say(line) {
    this.child.stdin.write(`${line}\n`);
  }
  async end(signal = 'SIGTERM') {
    this.child.kill('SIGCONT');
    this.child.kill(signal);
    await this.ended;
  }
}

export class Rack {
  // The harbour show: three lines, eight antennas, a matrix. `edit(rack, show)`: what is different this time.
  static async harbour(edit = () => {}) {
    const rack = new Rack();
    const setup = read(path.join(demo, 'harbour.rack.json'));
    fs.writeFileSync(path.join(rack.state, 'quay-net.key'), '5'.repeat(64), { mode: 0o600 });
    rack.truss = new Program(process.env.CATWALK_NODE, [
      '--pty', '--link', path.join(rack.state, 'truss-bus'), '--state', path.join(rack.state, 'truss.nodes'),
      '--node', '7a10-00000201@1,type=tern-inline', '--node', '7a10-00000202@2,type=gull-integral',
      '--node', '7a10-00000203@3,type=plover-fixed',
    ]);
    rack.quay = new Program(process.env.CATWALK_NODE, [
      '--udp', '127.0.0.1:0', '--key-file', path.join(rack.state, 'quay-net.key'),
      '--state', path.join(rack.state, 'quay.nodes'), '--node', '7a10-00000301,type=gull-integral',
      '--node', '7a10-00000302,type=gull-integral', '--node', '7a10-00000303,type=tern-inline',
    ]);
    await rack.truss.heard(/(ready)/);
    const endpoint = `127.0.0.1:${await rack.quay.heard(/127\.0\.0\.1:(\d+)/)}`;
    setup.lines.find(({ name }) => name === 'truss-bus').device = 'truss-bus';
    for (const node of setup.nodes) if (node.endpoint) node.endpoint = endpoint;
    await rack.begin(setup, edit);
    return rack;
  }

  // The same nodes and show with every line simulated, and without faults but those of `edit`.
  static async bench(edit = () => {}) {
    const rack = new Rack();
    const setup = read(path.join(demo, 'bench.rack.json'));
    for (const line of setup.lines) for (const fault of ['loss', 'corrupt', 'duplicate']) delete line[fault];
    await rack.begin(setup, edit);
    return rack;
  }

  // So many simulated nodes on lines of 64, two to a receiver, in ten places.
  static async simulated(count, edit = () => {}) {
    const rack = new Rack();
    const setup = read(path.join(demo, 'bench.rack.json'));
    for (const part of ['lines', 'nodes', 'receivers']) setup[part] = [];
    delete setup.matrices;
    for (let i = 0; i < count; ++i) {
      const line = `line-${Math.floor(i / 64) + 1}`;
      if (i % 64 === 0) setup.lines.push({ name: line, kind: 'simulated', seed: i + 1 });
      setup.nodes.push({
        name: `n${i + 1}`, uid: `7a10-${(i + 1).toString(16).padStart(8, '0')}`, line, address: (i % 64) + 1,
        datasheet: 'tern-inline', hangs: `truss ${(i % 10) + 1}, point ${Math.floor(i / 10) + 1}`,
      });
      if (i % 2 === 1) setup.receivers.push({ name: `rx-${(i + 1) / 2}`, branches: [[`n${i}`], [`n${i + 1}`]] });
    }
    const show = {
      name: 'many',
      segments: ['evening', 'night'].map((name, at) => ({
        name, title: name,
        settings: Object.fromEntries(setup.nodes.map((node) => [
          node.name, { gain_db: at ? 6 : 0, filter: 'slide-40', centre_mhz: at ? 560 : 520 }])),
        lanes: [{ name: 'voices', purpose: 'receive', low_mhz: 480, high_mhz: 600 },
                { name: 'ears', purpose: 'transmit', low_mhz: 640, high_mhz: 670 }],
        carriers: [
          ...Array.from({ length: 110 }, (_, i) => ({
            name: `voice-${i + 1}`, use: 'receive', frequency_mhz: (at ? 545 : 505) + i * 0.25,
            bandwidth_khz: 200, receivers: [`rx-${(i % Math.floor(count / 2)) + 1}`] })),
          ...Array.from({ length: 10 }, (_, i) => ({
            name: `ears-${i + 1}`, use: 'transmit', frequency_mhz: 642 + i * 2.5, bandwidth_khz: 200 })),
        ],
      })),
      running_order: { cues: [{ segment: 'evening' }, { segment: 'night' }] },
    };
    await rack.begin(setup, (one, its) => {
      Object.assign(its, show);
      for (const member of Object.keys(its)) if (!(member in show)) delete its[member];
      edit(one, its);
    });
    return rack;
  }

  constructor() {
    this.folder = fs.mkdtempSync(path.join(os.tmpdir(), 'catwalk-browser-'));
    this.state = path.join(this.folder, 'state');
    fs.mkdirSync(this.state);
  }

  async begin(setup, edit) {
    const show = read(path.join(demo, 'harbour.show.json'));
    setup.datasheets = setup.datasheets.map((file) => path.join(demo, file));
    for (const file of ['bands', 'cables']) setup[file] = path.join(demo, setup[file]);
    setup.show = 'show.json';
    setup.state_dir = this.state;
    setup.server = { port: 0 };
    delete setup.show_control;
    edit(setup, show);
    this.setup = setup;
    fs.writeFileSync(path.join(this.folder, 'rack.json'), JSON.stringify(setup));
    fs.writeFileSync(path.join(this.folder, 'show.json'), JSON.stringify(show));
    await this.startDaemon();
  }

  // On the port that it had before, if it had one.
  async startDaemon() {
    this.daemon = new Program(process.env.CATWALKD, [
      '--port', new URL(this.url ?? 'http://127.0.0.1:0').port || '0', path.join(this.folder, 'rack.json')]);
    this.url = await this.daemon.heard(/(https?:\/\/\S+)/);
  }

  // What a daemon that is started next knows of the one before: nothing.
  forget() {
    for (const file of fs.readdirSync(this.state))
      if (file.startsWith('journal.sqlite')) fs.rmSync(path.join(this.state, file));
  }

  // Everybody who has a token, by role: "token of watch".
  static guarded(setup) {
    setup.tokens = ['watch', 'operate', 'engineer'].map((role) => ({
      name: `${role}-1`, role, sha256: createHash('sha256').update(`token of ${role}`).digest('hex') }));
  }

  async ask(method, what, body, headers = {}) {
    const response = await fetch(`${this.url}/api/v1${what}`, {
      method, body: body && JSON.stringify(body),
      headers: { ...(body && { 'Content-Type': 'application/json' }), ...headers } });
    const text = await response.text();
    return { status: response.status, etag: response.headers.get('etag'), body: text && JSON.parse(text) };
  }
  async node(name) {
    return (await this.ask('GET', `/nodes/${name}`)).body;
  }
  // Settings of a node, changed by somebody else over the API.
  async set(name, settings, who = 'ben') {
    const { etag } = await this.ask('GET', `/nodes/${name}/settings`);
    return this.ask('PATCH', `/nodes/${name}/settings`, settings, { 'If-Match': etag, 'Catwalk-User': who });
  }
  allRead(headers) {
    return eventually('every node is read', async () =>
      (await this.ask('GET', '/nodes', undefined, headers)).body.nodes.every(({ link, seen }) => link === 'answering' && seen));
  }

  // Every node is read, and as the first segment has it.
  async ready(headers = {}) {
    await this.allRead(headers);
    const { segment } = (await this.ask('GET', '/rack', undefined, headers)).body;
    const waiver = { who: 'ana', reason: 'rehearsal' };
    // Rolled back where a node seemed silent: on a machine that is busy enough that takes half a second.
    await eventually('the first segment is reached', async () => {
      const went = await this.ask('POST', '/switch', { segment, waiver }, headers);
      if (![200, 424].includes(went.status)) throw new Error(JSON.stringify(went.body));
      return went.status === 200;
    });
  }

  async stop() {
    for (const program of [this.daemon, this.truss, this.quay]) await program?.end();
    fs.rmSync(this.folder, { recursive: true });
  }
}
