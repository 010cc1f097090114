// SPDX-License-Identifier: Apache-2.0
// Two soft tones for an alarm that was not there before; off unless somebody switched it on here.
import { effect } from '@preact/signals';
import type { Alarm } from '../api/types';
import { sound } from '../browser/settings_kept';
import { live, state } from '../feed/store';
import { newlyCalling } from '../model/alarms';

let context: AudioContext | null = null;

export function tryOut(): void {
  // Browsers let a page sound only after somebody touched it.
  context ??= new AudioContext();
  void context.resume();
  const start = context.currentTime + 0.02;
  for (const [at, hertz] of [
    [0, 660],
    [0.22, 520],
  ] as const) {
    const tone = context.createOscillator();
    const volume = context.createGain();
    tone.frequency.value = hertz;
    volume.gain.setValueAtTime(0, start + at);
    volume.gain.linearRampToValueAtTime(0.2, start + at + 0.02);
    volume.gain.exponentialRampToValueAtTime(0.001, start + at + 0.2);
    tone.connect(volume).connect(context.destination);
    tone.start(start + at);
    tone.stop(start + at + 0.21);
  }
}

export function startSound(): void {
  let before: readonly Alarm[] | null = null;
  effect(() => {
    if (!live.value) return;
    const { alarms } = state.value;
    if (before && sound.peek() === 'on' && newlyCalling(before, alarms).length > 0) tryOut();
    before = alarms;
  });
}
