import type { Task, Load as TimetableLoad } from "../../schemas/index.js";
import type { DayIndex, Want } from "../problem/day-index.js";
import type { LoadSpec, Portion } from "../problem/explode.js";
import { inForceOf } from "../problem/in-force.js";
import { endIn, type Kept, type KeptBatch, minuteIn } from "../problem/kept.js";
import { outdatedBatches, tubsAsFilled } from "./as-catalogued.js";
import type { Standing } from "./standing.js";
import type { Untied } from "./too-early.js";
import { hasBegun, isOutOver } from "./wishes.js";

/** Pieces of the plan in force that no line wants any more, by product and site, for lines that lack some. */
interface Spare {
  readonly load: TimetableLoad;
  /** With its ride to where it is wanted. */
  readonly ready: number;
  /** Of its work: it is no fresher for riding on. */
  readonly finished: number;
  pieces: number;
}

function lastEnd(index: DayIndex, tasks: readonly Task[] | undefined): number {
  let last = 0;
  for (const task of tasks ?? []) last = Math.max(last, endIn(index, task));
  return last;
}

/** When a load is finished by the timetable in force; its ride is left out. */
export function finishIn(index: DayIndex, tasks: readonly Task[] | undefined): number {
  let last = 0;
  for (const task of tasks ?? []) if (task.does !== "van") last = Math.max(last, endIn(index, task));
  return last;
}

/**
 * Loads and batches of the timetable in force, and whom they serve: first the lines that they served, as far as those still want pieces; pieces left
 * over then go to other lines of the product and site, those due first, if they are ready by then. Loads that nobody wants and of which
 * nothing has begun are gone. `untied`: they serve no line that they are ready too early for.
 */
export function keepInForce(index: DayIndex, standing: Standing, untied: Untied): Kept {
  const { inForce } = index.day;
  const loads = inForce?.loads ?? [];
  const { tasks, loads: before } = inForceOf(inForce);
  const wants = new Map(index.wants.map((want) => [want.line.id, want]));
  const left = new Map(index.wants.map((want) => [want.line.id, want.pieces]));
  const portions = new Map<string, Portion[]>();
  const spares: Spare[] = [];
  const outdated = inForce ? outdatedBatches(index, standing.batches, inForce) : new Set();
  for (const load of loads) {
    const begun = standing.loads.get(load.id);
    if (load.scrapped || begun?.scrapped || outdated.has(load.batch)) continue;
    const own: Portion[] = [];
    let good = load.pieces - (begun?.load.lostPieces ?? 0);
    for (const share of load.orders) {
      const want = wants.get(share.line);
      const pieces = Math.min(share.pieces, left.get(share.line) ?? 0, good);
      if (!want || pieces <= 0 || want.line.product !== load.product || want.line.site !== load.deliveredTo) continue;
      if (untied.has(load.id) && finishIn(index, tasks.get(load.id)) < want.due - want.freshWithinMinutes) continue;
      left.set(share.line, left.get(share.line)! - pieces);
      own.push({ want, pieces });
      good -= pieces;
    }
    portions.set(load.id, own);
    if (good <= 0) continue;
    const chain = tasks.get(load.id);
    spares.push({ load, ready: lastEnd(index, chain), finished: finishIn(index, chain), pieces: good });
  }
  giveSpares(index, spares, left, portions);
  return {
    batches: keptBatches(index, standing, portions),
    locked: lockedTasks(index, standing, tasks),
    tasks,
    before,
    wants: wantsLeft(index, left),
  };
}

/** Batches of which something is kept. */
function keptBatches(
  index: DayIndex,
  standing: Standing,
  portions: ReadonlyMap<string, readonly Portion[]>,
): KeptBatch[] {
  const { inForce } = index.day;
  const trips = new Map<string, string>();
  // A load that is on several rides has the first.
  for (const van of inForce?.vans ?? [])
    for (const { load } of van.loads) if (!trips.has(load)) trips.set(load, van.id);
  const ofBatch = new Map<string, TimetableLoad[]>();
  for (const load of inForce?.loads ?? []) {
    if (!standing.batches.has(load.batch) && (portions.get(load.id)?.length ?? 0) === 0) continue;
    const own = ofBatch.get(load.batch);
    if (own) own.push(load);
    else ofBatch.set(load.batch, [load]);
  }
  const batches: KeptBatch[] = [];
  for (const batch of inForce?.batches ?? []) {
    const kept = ofBatch.get(batch.id);
    if (!kept) continue;
    const loads: LoadSpec[] = [];
    const isBegun = standing.batches.has(batch.id);
    for (const load of kept) {
      const tubsG = isBegun ? tubsAsFilled(index, load, batch) : undefined;
      loads.push(specOf(load, batch.site, portions.get(load.id) ?? [], trips.get(load.id), tubsG));
    }
    batches.push({ id: batch.id, dough: batch.dough, mixSite: batch.site, loads });
  }
  return batches;
}

function wantsLeft(index: DayIndex, left: ReadonlyMap<string, number>): Want[] {
  const wants: Want[] = [];
  for (const want of index.wants) {
    const pieces = left.get(want.line.id)!;
    if (pieces > 0) wants.push({ ...want, pieces });
  }
  return wants;
}

function giveSpares(
  index: DayIndex,
  spares: readonly Spare[],
  left: Map<string, number>,
  portions: Map<string, Portion[]>,
): void {
  const lacking = index.wants.filter((want) => left.get(want.line.id)! > 0);
  for (const want of [...lacking].sort((a: Want, b: Want) => a.due - b.due)) {
    for (const spare of spares) {
      const { load } = spare;
      const wanted = left.get(want.line.id)!;
      if (wanted <= 0) break;
      if (spare.pieces === 0 || load.product !== want.line.product || load.deliveredTo !== want.line.site) continue;
      if (want.line.madeAt !== undefined && want.line.madeAt !== load.bakedAt) continue;
      if (spare.ready > want.due || spare.finished < want.due - want.freshWithinMinutes) continue;
      const pieces = Math.min(spare.pieces, wanted);
      portions.get(load.id)!.push({ want, pieces });
      spare.pieces -= pieces;
      left.set(want.line.id, wanted - pieces);
    }
  }
}

const specsKnown = new WeakMap<TimetableLoad, LoadSpec>();

/** The same object as before while the load serves the same: what is known of it is found by it. */
function specOf(
  load: TimetableLoad,
  mixSite: string,
  portions: readonly Portion[],
  trip: string | undefined,
  tubsG: readonly number[] | undefined,
): LoadSpec {
  // Seldom: nothing is remembered of what is other than the documents say.
  if (tubsG) return { ...newSpec(load, mixSite, portions, trip), tubsG };
  const known = specsKnown.get(load);
  if (known && known.mixSite === mixSite && known.trip === trip && areSame(known.portions, portions)) return known;
  const spec = newSpec(load, mixSite, portions, trip);
  specsKnown.set(load, spec);
  return spec;
}

function areSame(portions: readonly Portion[], others: readonly Portion[]): boolean {
  if (portions.length !== others.length) return false;
  for (let i = 0; i < portions.length; i++)
    if (portions[i]!.want !== others[i]!.want || portions[i]!.pieces !== others[i]!.pieces) return false;
  return true;
}

function newSpec(
  load: TimetableLoad,
  mixSite: string,
  portions: readonly Portion[],
  trip: string | undefined,
): LoadSpec {
  return {
    id: load.id,
    product: load.product,
    deliverTo: load.deliveredTo,
    madeAt: portions[0]?.want.line.madeAt,
    mixSite,
    pieces: load.pieces,
    pans: load.pans,
    doughG: load.doughG,
    portions,
    ...(trip === undefined ? {} : { trip }),
  };
}

/** Locked tasks by load or batch. A lock is given up (D24) on a unit that is out of service then, and when its time is past and it has not begun. */
function lockedTasks(
  index: DayIndex,
  standing: Standing,
  tasks: ReadonlyMap<string, readonly Task[]>,
): Map<string, Task[]> {
  const ids = new Set(index.day.happenings.happenings.flatMap((h) => (h.kind === "lock" ? [h.task] : [])));
  const locked = new Map<string, Task[]>();
  if (ids.size === 0) return locked;
  for (const [owner, own] of tasks) {
    const those = own.filter(
      (task) =>
        ids.has(task.id) && !isUnitOut(index, task) && (!isPast(index, task) || hasBegun(standing, owner, task.id)),
    );
    if (those.length > 0) locked.set(owner, those);
  }
  return locked;
}

function isUnitOut(index: DayIndex, { unit, start, end }: Task): boolean {
  return unit !== undefined && isOutOver(index, unit, minuteIn(index, start), minuteIn(index, end));
}

function isPast(index: DayIndex, { start }: Task): boolean {
  return minuteIn(index, start) < (index.at ?? 0);
}
