// SPDX-License-Identifier: Apache-2.0
// What is left until a moment of the daemon's clock.
import type { JSX } from 'preact';
import { daemonClock, tick } from '../feed/store';
import { countdown } from '../model/format';

export function Left({ until }: { until: string }): JSX.Element {
  void tick.value;
  return <span class="steady">{countdown(Date.parse(until) - daemonClock())}</span>;
}
