import type { DayDocuments } from "../schemas/index.js";
import { assign } from "./assign/index.js";
import type { Lp } from "./lp/choose.js";
import { indexDay, type Want } from "./problem/day-index.js";
import { explodeLot } from "./problem/explode.js";
import { buildProblem, type Problem } from "./problem/index.js";
import { keepLocked } from "./problem/kept.js";
import { type Prepared, prepare } from "./problem/prepare.js";
import { type BatchSpec, sizeBatches } from "./problem/size.js";

/** Names that stay readable: product or dough, and a number that is unique in the day. */
function counter(taken: ReadonlySet<string>): (stem: string) => string {
  let count = 0;
  return (stem) => {
    let name: string;
    do name = `${stem.slice(0, 50)}-${++count}`;
    while (taken.has(name));
    return name;
  };
}

/** New loads and batches for what is wanted, with names that the timetable in force does not have. */
export function freshBatches(
  prepared: Prepared,
  wants: readonly Want[],
  taken: { readonly loads: ReadonlySet<string>; readonly batches: ReadonlySet<string> },
  lp: Lp,
): BatchSpec[] {
  if (wants.length === 0) return [];
  const { index } = prepared;
  const nameLoad = counter(taken.loads);
  const loads = assign(prepared, wants, lp).flatMap((lot) => explodeLot(index, lot, () => nameLoad(lot.product.id)));
  const nameBatch = counter(taken.batches);
  return sizeBatches(index, loads, lp, (dough) => nameBatch(`${dough}-b`));
}

/** Orders to a problem: explode, size, assign (solver.md's pipeline up to the search). */
export function pose(day: DayDocuments, lp: Lp): Problem {
  const index = indexDay(day);
  const prepared = prepare(index);
  const kept = keepLocked(index);
  const taken = {
    loads: new Set(kept.batches.flatMap((batch) => batch.loads.map((load) => load.id))),
    batches: new Set(kept.batches.map((batch) => batch.id)),
  };
  return buildProblem(prepared, kept, [...kept.batches, ...freshBatches(prepared, kept.wants, taken, lp)]);
}
