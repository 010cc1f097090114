// SPDX-License-Identifier: Apache-2.0
// The daemon under test, with the harbour show on simulated nodes and ports that the system chooses.
import { spawn } from 'node:child_process';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';

import { eventually } from './eventually.mjs';

// Rack files may have comments, on lines of their own in the demo.
const read = (file) => JSON.parse(fs.readFileSync(file, 'utf8').replace(/^\s*\/\/.*$/gm, ''));

export class Daemon {
  // `lineDelay`: milliseconds one way, so that a switch takes its time.
  static async start({ senders, subscribers, cues, lineDelay }) {
    const daemon = new Daemon();
    const demo = path.join(process.env.CATWALK_SOURCE, 'config', 'demo');
    daemon.folder = fs.mkdtempSync(path.join(os.tmpdir(), 'catwalk-osc-'));
    const show = read(path.join(demo, 'harbour.show.json'));
    show.running_order = { cues };
    const rack = read(path.join(demo, 'bench.rack.json'));
    rack.datasheets = rack.datasheets.map((file) => path.join(demo, file));
    for (const file of ['bands', 'cables']) rack[file] = path.join(demo, rack[file]);
    rack.show = 'show.json';
    for (const line of rack.lines) line.delay_ms = { least: lineDelay, most: lineDelay };
    rack.show_control = { bind: '127.0.0.1:0', senders, subscribers };
    fs.writeFileSync(path.join(daemon.folder, 'show.json'), JSON.stringify(show));
    fs.writeFileSync(path.join(daemon.folder, 'rack.json'), JSON.stringify(rack));

    const state = path.join(daemon.folder, 'state');
    daemon.log = '';
    daemon.child = spawn(
      process.env.CATWALKD,
      ['--port', '0', '--state-dir', state, path.join(daemon.folder, 'rack.json')],
      { stdio: ['ignore', 'ignore', 'pipe'] },
    );
    daemon.ended = new Promise((resolve) => daemon.child.on('exit', (status) => resolve(status)));
    daemon.child.stderr.on('data', (text) => (daemon.log += text));
    await eventually('the daemon listens', () => /http:\S+/.test(daemon.log));
    daemon.url = /http:\S+/.exec(daemon.log)[0];
    daemon.port = Number(/show control: .* port (\d+)/.exec(daemon.log)[1]);
    return daemon;
  }

  async get(what) {
    const response = await fetch(`${this.url}/api/v1${what}`);
    return response.json();
  }

  // A counter of show control, as Prometheus would read it.
  async total(name) {
    const text = await (await fetch(`${this.url}/metrics`)).text();
    return Number(new RegExp(`^catwalk_osc_${name}_total (\\S+)$`, 'm').exec(text)[1]);
  }

  // Its exit status.
  async stop() {
    this.child.kill('SIGTERM');
    const status = await this.ended;
    fs.rmSync(this.folder, { recursive: true });
    return status;
  }
}
