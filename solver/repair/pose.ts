import type { DayDocuments } from "../../schemas/index.js";
import type { Lp } from "../lp/choose.js";
import { freshBatches } from "../pose.js";
import { indexDay } from "../problem/day-index.js";
import { buildProblem, type Problem } from "../problem/index.js";
import { prepare } from "../problem/prepare.js";
import { keepInForce } from "./keep.js";
import { RepairKeeping } from "./keeping.js";
import { type Standing, standingOf } from "./standing.js";
import { wishesAhead } from "./wishes.js";

/** A repair as a problem of the search: what has begun is fixed, what is ahead is at home where it was, and lines that lack pieces get new loads. */
export interface PosedRepair {
  readonly problem: Problem;
  readonly standing: Standing;
}

/** `moveFactor` multiplies what moves cost. */
export function poseRepair(day: DayDocuments, lp: Lp, moveFactor = 1): PosedRepair {
  const index = indexDay(day);
  const prepared = prepare(index);
  const standing = standingOf(index);
  const kept = keepInForce(index, standing);
  const taken = {
    loads: new Set(day.inForce?.loads.map((load) => load.id)),
    batches: new Set(day.inForce?.batches.map((batch) => batch.id)),
  };
  const fresh = freshBatches(prepared, kept.wants, taken, lp);
  const keeping = new RepairKeeping(prepared, kept, standing, wishesAhead(index, standing), moveFactor);
  return { problem: buildProblem(prepared, kept, [...kept.batches, ...fresh], keeping), standing };
}
