// SPDX-License-Identifier: Apache-2.0
// Names for what the API document describes. Everything here follows from it.
import type { components } from '../generated/schema';

type Schemas = components['schemas'];

export type Settings = Schemas['Settings'];
export type SettingsPatch = Schemas['SettingsPatch'];
export type Wanted = Schemas['Wanted'];
export type Node = Schemas['Node'];
export type CarriersAtNode = Schemas['CarriersAtNode'];
export type ThroughNode = Schemas['ThroughNode'];
export type Finding = Schemas['Finding'];
export type Answer = Schemas['Answer'];
export type Change = Schemas['Change'];
export type Alarm = Schemas['Alarm'];
export type Line = Schemas['Line'];
export type Rack = Schemas['Rack'];
export type Segment = Schemas['Segment'];
export type Lane = Segment['lanes'][number];
export type Carrier = Segment['carriers'][number];
export type JournalEntry = Schemas['JournalEntry'];
export type Problem = Schemas['Problem'];
export type VerdictProblem = Schemas['VerdictProblem'];
export type Waiver = Schemas['Waiver'];
export type Verdict = Schemas['Verdict'];
export type Stage = Schemas['Stage'];
export type ExplainedChain = Schemas['ExplainedChain'];
export type Explained = Schemas['Explained'];
export type Supposed = Schemas['Supposed'];
export type Recommendation = Schemas['NodeRecommendation'];
export type Switch = Schemas['Switch'];
export type SwitchedNode = Schemas['SwitchedNode'];
export type Preview = Schemas['Preview'];
export type CrewSheet = Schemas['CrewSheet'];
export type CrewRow = CrewSheet['rows'][number];
export type CrewTick = Schemas['CrewTick'];
export type Cue = Schemas['Cue'];
export type RunningOrder = Schemas['RunningOrder'];
export type Armed = Schemas['Armed'];
export type Allowed = Schemas['Allowed'];
export type Steps = NonNullable<Allowed['gain_db']>;
export type NodeResponse = Schemas['NodeResponse'];
export type Spectrum = Schemas['Spectrum'];
export type Severity = Finding['severity'];
export type Session = Schemas['Session'];
export type Role = Session['role'];
