// SPDX-License-Identifier: Apache-2.0
// The level budget of one carrier as lines in a picture: level at the antenna's terminals and
// behind each stage.
import type { ExplainedChain, Stage } from '../api/types';

export interface BudgetPoint {
  strongest: number | undefined;
  weakest: number | undefined;
  noise: number;
  // Where all carriers together would compress the stage, at its output; and what they are.
  limit: number | undefined;
  all: number | undefined;
  stage: Stage;
}

export interface BudgetPicture {
  points: BudgetPoint[];
  // Of the level scale, dBm; whole tens.
  top: number;
  bottom: number;
}

export function pictureOf(chain: ExplainedChain): BudgetPicture {
  const points = chain.stages.map((stage): BudgetPoint => ({
    strongest: stage.strongest_dbm,
    weakest: stage.weakest_dbm,
    noise: stage.noise_dbm,
    limit: stage.output_p1db_dbm,
    all: stage.all_carriers_dbm,
    stage,
  }));
  const levels = points.flatMap((point) =>
    [point.strongest, point.weakest, point.noise, point.limit, point.all].filter(
      (level): level is number => level !== undefined && Number.isFinite(level),
    ),
  );
  const top = Math.ceil((Math.max(-20, ...levels) + 4) / 10) * 10;
  const bottom = Math.floor((Math.min(-100, ...levels) - 4) / 10) * 10;
  return { points, top, bottom };
}
