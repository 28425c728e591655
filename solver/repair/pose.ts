import type { DayDocuments, Timetable } from "../../schemas/index.js";
import type { Lp } from "../lp/choose.js";
import { freshBatches } from "../pose.js";
import { indexDay } from "../problem/day-index.js";
import { buildProblem, type Problem } from "../problem/index.js";
import { prepare } from "../problem/prepare.js";
import { keepInForce } from "./keep.js";
import { RepairKeeping } from "./keeping.js";
import { type Standing, standingOf } from "./standing.js";
import { NOBODY } from "./too-early.js";
import { wishesAhead } from "./wishes.js";

/** Names whose tasks would be called as one that is gone: what was told of that is not told of them. */
function* goneNames(inForce: Timetable | undefined): Iterable<string> {
  for (const id of inForce?.gone ?? []) {
    yield id;
    for (let end = id.lastIndexOf("-"); end > 0; end = id.lastIndexOf("-", end - 1)) yield id.slice(0, end);
  }
}

/** A repair as a problem of the search: what has begun is fixed, what is ahead is at home where it was, and lines that lack pieces get new loads. */
export interface PosedRepair {
  readonly problem: Problem;
  readonly standing: Standing;
}

/** `moveFactor` multiplies what moves cost. */
export function poseRepair(day: DayDocuments, lp: Lp, moveFactor = 1, untied = NOBODY): PosedRepair {
  const index = indexDay(day);
  const prepared = prepare(index);
  const standing = standingOf(index);
  const kept = keepInForce(index, standing, untied);
  const gone = goneNames(day.inForce);
  const taken = {
    loads: new Set([...(day.inForce?.loads.map((load) => load.id) ?? []), ...gone]),
    batches: new Set([...(day.inForce?.batches.map((batch) => batch.id) ?? []), ...gone]),
  };
  const fresh = freshBatches(prepared, kept.wants, taken, lp);
  const keeping = new RepairKeeping(prepared, kept, standing, wishesAhead(index, standing), moveFactor);
  return { problem: buildProblem(prepared, kept, [...kept.batches, ...fresh], keeping), standing };
}
