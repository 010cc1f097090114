// SPDX-License-Identifier: Apache-2.0
// A matrix of four inputs and three outputs in order, and what is otherwise about it.
import type { Matrix, MatrixSettings } from '../src/api/matrix';

export const routed: MatrixSettings = {
  label: 'shore rack',
  routes: { 1: [1, 3], 2: [2], 3: [] },
  trims_db: { 1: 0, 2: -4.5, 3: 0, 4: 0 },
  supplies_mv: { 1: 12000, 2: 12000, 3: 0, 4: 0 },
  labels: { 1: 'east', 2: '', 3: '', 4: '' },
};

export function aMatrix(name: string, otherwise: Partial<Matrix> = {}): Matrix {
  return {
    name,
    type: 'heron-sum',
    stands: 'rack 1, unit 12',
    set_from_here: true,
    uid: '7a10-00000401',
    line: 'rack-bus',
    on_return: 'hold',
    link: 'answering',
    agreement: 'agreed',
    firmware: '1.1',
    reported_type: 'heron-sum',
    datasheet: {
      title: 'a summing matrix',
      inputs: 4,
      outputs: 3,
      most_summed: 2,
      applies: 'at once',
      isolation_of_inputs_db: 45,
      trim_db: { lowest: -15, highest: 0, step: 0.5 },
      supplies_mv: [9000, 12000],
      most_ma: 300,
      most_ma_of_all: 900,
      measures_current: true,
      measures_level: true,
    },
    inputs: [
      { input: 1, antenna: 'quay-east', measured: { current_ma: 85, level_dbm: -42.1 } },
      { input: 2, antenna: 'quay-west' },
      { input: 3, antenna: 'pier' },
      { input: 4 },
    ],
    outputs: [
      { output: 1, receiver: 'vocals', branch: 1, hears: ['quay-east', 'pier'] },
      { output: 2, receiver: 'vocals', branch: 2, hears: ['quay-west'] },
      { output: 3, hears: [] },
    ],
    wanted: { ...routed, revision: 3 },
    seen: {
      settings: routed,
      telemetry: {
        supply_v: 23.9,
        supply_ma: 640,
        temperature_c: 34,
        uptime_s: 60,
        boots: 1,
        powered: true,
        locally_changed: false,
        locating: false,
      },
      passive: false,
      epoch: 7,
      read_at: '2026-08-14T18:30:00Z',
      age_ms: 8,
      quality: 'good',
    },
    findings: [],
    conditions: [{ level: 'calm', kind: 'calm', word: 'as wanted' }],
    ...otherwise,
  };
}
