// SPDX-License-Identifier: Apache-2.0
// The level budget of one carrier as lines in a picture: level at the antenna's terminals and
// behind each stage.
import type { ExplainedChain, Stage } from '../api/types';

export interface BudgetPoint {
  // What the signal comes out of.
  name: string;
  strongest?: number;
  weakest?: number;
  noise: number;
  // Where all carriers together would compress the stage, at its output; and what they are.
  limit?: number;
  all?: number;
  stage: Stage;
}

export interface BudgetPicture {
  points: BudgetPoint[];
  // Of the level scale, dBm; whole tens.
  top: number;
  bottom: number;
}

export function pictureOf(chain: ExplainedChain): BudgetPicture {
  const points = chain.stages.map((stage): BudgetPoint => {
    const point: BudgetPoint = { name: stage.name, noise: stage.noise_dbm, stage };
    if (stage.strongest_dbm !== undefined) point.strongest = stage.strongest_dbm;
    if (stage.weakest_dbm !== undefined) point.weakest = stage.weakest_dbm;
    if (stage.output_p1db_dbm !== undefined) point.limit = stage.output_p1db_dbm;
    if (stage.all_carriers_dbm !== undefined) point.all = stage.all_carriers_dbm;
    return point;
  });
  const levels = points.flatMap((point) =>
    [point.strongest, point.weakest, point.noise, point.limit, point.all].filter(
      (level): level is number => level !== undefined && Number.isFinite(level),
    ),
  );
  const top = Math.ceil((Math.max(-20, ...levels) + 4) / 10) * 10;
  const bottom = Math.floor((Math.min(-100, ...levels) - 4) / 10) * 10;
  return { points, top, bottom };
}
