// SPDX-License-Identifier: Apache-2.0
// A node in order, and what is otherwise about it.
import type { Finding, Node } from '../src/api/types';

export function aNode(name: string, otherwise: Partial<Node> = {}): Node {
  const settings = {
    gain_db: 6,
    filter: 'slide-40',
    centre_mhz: 537,
    power: true,
    label: 'vocals A',
  };
  return {
    name,
    uid: '7a10-00000201',
    line: 'truss-bus',
    type: 'tern-inline',
    hangs: 'shore truss, stage left',
    place: 'shore truss',
    on_return: 'hold',
    serves: [{ receiver: 'vocals', branch: 1 }],
    carriers: { own: [], outside: [], let_in: [], harmed: [] },
    link: 'answering',
    agreement: 'agreed',
    firmware: '1.0',
    reported_type: 'tern-inline',
    wanted: { ...settings, revision: 3 },
    seen: {
      settings,
      telemetry: {
        supply_v: 11.5,
        supply_ma: 180,
        temperature_c: 30,
        detector_dbm: -52,
        uptime_s: 60,
        boots: 1,
        powered: true,
        locally_changed: false,
        locating: false,
      },
      epoch: 1,
      read_at: '2026-08-14T18:30:00Z',
      passive: false,
      passband_mhz: [517, 557],
      skirt_mhz: 0.5,
      age_ms: 200,
      quality: 'good',
    },
    findings: [],
    conditions: [{ level: 'calm', kind: 'calm', word: 'as wanted' }],
    ...otherwise,
  };
}

type Condition = Node['conditions'][number];
export const aCondition = (level: Condition['level'], kind: string, word = kind): Condition => ({
  level,
  kind,
  word,
});

export const aFinding = (severity: Finding['severity'], sentence = 'So it is.'): Finding => ({
  rule: 'chain-gain',
  severity,
  concerns: [],
  numbers: [],
  sentence,
});
