// SPDX-License-Identifier: Apache-2.0
// Somebody who speaks OSC: osc-min makes and reads the bytes, Node sends and receives them.
import dgram from 'node:dgram';
import * as osc from 'osc-min';

import { eventually } from './eventually.mjs';

export class Desk {
  static async open() {
    const desk = new Desk();
    desk.replies = []; // that nobody has asked for yet: {address, values}
    desk.states = 0; // bundles of state
    desk.state = {}; // of the last: {segment: ['finale'], …}
    desk.history = []; // of /catwalk/state/switch
    desk.socket = dgram.createSocket('udp4');
    desk.socket.on('message', (bytes) => desk.#take(osc.fromBuffer(bytes)));
    await new Promise((resolve) => desk.socket.bind(0, '127.0.0.1', resolve));
    desk.address = `127.0.0.1:${desk.socket.address().port}`;
    return desk;
  }

  #take(packet) {
    if (packet.oscType === 'message') {
      this.replies.push({
        address: packet.address,
        values: packet.args.map((one) => one.value),
        types: packet.args.map((one) => one.type),
      });
      return;
    }
    this.states += 1;
    for (const { address, args } of packet.elements)
      this.state[address.replace('/catwalk/state/', '')] = args.map((one) => one.value);
    this.history.push(this.state.switch);
  }

  send(port, address, ...args) {
    this.sendBytes(port, osc.toBuffer({ address, args }));
  }
  sendBundle(port, timetag, messages) {
    const elements = messages.map(([address, ...args]) => ({ address, args }));
    this.sendBytes(port, osc.toBuffer({ oscType: 'bundle', timetag, elements }));
  }
  sendBytes(port, bytes) {
    this.socket.send(bytes, port, '127.0.0.1');
  }

  // The next reply to that command, and takes it off.
  async reply(command) {
    const address = command === '' ? '/catwalk/reply' : `/catwalk/reply/${command}`;
    return eventually(`a reply to ${command}`, () => {
      const at = this.replies.findIndex((one) => one.address === address);
      return at >= 0 && this.replies.splice(at, 1)[0];
    });
  }
  async stateIs(name, values) {
    await eventually(`state ${name} ${values}; it is ${this.state[name]}`, () =>
      values.every((value, i) => this.state[name]?.[i] === value),
    );
  }

  close() {
    this.socket.close();
  }
}

export const message = (address, ...args) =>
  Buffer.from(osc.toBuffer({ address, args }).buffer);
