import type {
  Batch,
  Load,
  Mixer,
  OrderOutcome,
  Reason,
  Site,
  Status,
  Task,
  Timetable,
  VanTrip,
} from "../../schemas/index.js";
import { PROVEN_WITHIN } from "../bound/proof.js";
import type { TripTimes } from "../problem/day-index.js";
import { sharesOf } from "../problem/explode.js";
import { inForceOf } from "../problem/in-force.js";
import type { Problem } from "../problem/index.js";
import type { PlanCopy } from "../search/plan.js";
import { leastBatchG } from "../trade/dough.js";
import { beforeOf, orSameBatch } from "./as-before.js";
import { cleaningTasks } from "./cleaning.js";
import {
  type Clock,
  createClock,
  type MadeBatch,
  type MadeLoad,
  madeBatches,
  type ScrappedLoad,
  scrappedLoads,
} from "./context.js";
import { costOf, madePieces } from "./cost.js";
import { goneSince } from "./gone.js";
import { heatPlan } from "./heat.js";
import { inOrder } from "./in-order.js";
import { PositionBook } from "./positions.js";
import { withSurplusDealt } from "./surplus.js";
import { TaskWriter } from "./tasks.js";

/** What is said about a timetable besides the plan itself. */
export interface Imprint {
  readonly seed: number;
  readonly iterations: number;
  readonly cancelled?: boolean;
  readonly bound?: number;
  /** Why lines are late or short, by line id. */
  readonly reasons?: ReadonlyMap<string, Reason>;
}

function mixerOf({ mixers }: Site, id: string): Mixer {
  for (const mixer of mixers) if (mixer.id === id) return mixer;
  throw new RangeError(`there is no mixer ${id}`);
}

function batchOf(problem: Problem, batch: MadeBatch, scrapped: readonly ScrappedLoad[]): Batch {
  const spec = problem.batches[batch.number]!;
  const dough = problem.index.doughs.get(spec.dough)!;
  const mixer = mixerOf(problem.index.sites.get(batch.site)!, batch.mixer);
  let doughG = 0;
  for (const { begun } of scrapped) if (begun.batch === spec.id) doughG += begun.load.doughG;
  for (const load of batch.loads) doughG += load.spec.doughG;
  const spareG = Math.max(0, leastBatchG(mixer, dough) - doughG);
  return { id: spec.id, dough: spec.dough, site: batch.site, massG: doughG + spareG, spareG };
}

function batchesOf(problem: Problem, batches: readonly MadeBatch[], scrapped: readonly ScrappedLoad[]): Batch[] {
  const before = inForceOf(problem.index.day.inForce).batches;
  const found: Batch[] = [];
  for (const made of batches) {
    const { id } = problem.batches[made.number]!;
    const old = before.get(id);
    // What is mixed is as it was mixed, whatever the documents say of its mixer now.
    if (old && problem.begun?.batches.has(id)) found.push(old);
    else found.push(orSameBatch(old, batchOf(problem, made, scrapped)));
  }
  return found;
}

function scrappedLoadOf(problem: Problem, { begun, minute, why }: ScrappedLoad, clock: Clock): Load {
  const { lostPieces: _, shortPieces: __, ...load } = begun.load;
  const site = problem.begun!.batches.get(begun.batch)!.mix.task.site;
  return { ...load, orders: [], surplusPieces: load.pieces, scrapped: { at: clock(minute, site), why } };
}

/** The load of the timetable in force where that is the same. */
function loadOf(problem: Problem, load: MadeLoad, batch: string): Load {
  const { spec, meaning } = load;
  const { lostPieces = 0, shortPieces = 0 } = problem.begun?.loads.get(spec.id)?.load ?? {};
  const orders = mergedShares(spec);
  const surplusPieces = spec.pieces - lostPieces - wantedPieces(spec);
  const before = problem.kept.before.get(spec.id);
  const isSame =
    before &&
    isAsMade(problem.kept, before, load) &&
    before.batch === batch &&
    before.surplusPieces === surplusPieces &&
    before.lostPieces === (lostPieces > 0 ? lostPieces : undefined) &&
    before.shortPieces === (shortPieces > 0 ? shortPieces : undefined) &&
    areSameShares(before.orders, orders);
  if (isSame) return before;
  return {
    id: spec.id,
    product: spec.product,
    route: meaning.route.id,
    batch,
    bakedAt: meaning.bakeSite,
    deliveredTo: spec.deliverTo,
    ...(meaning.handOver ? { handOver: meaning.handOver } : {}),
    pieces: spec.pieces,
    pans: spec.pans,
    doughG: spec.doughG,
    tubs: tubsOf(problem, load),
    orders,
    surplusPieces,
    ...(lostPieces > 0 ? { lostPieces } : {}),
    ...(shortPieces > 0 ? { shortPieces } : {}),
  };
}

/** Is a load made in the way, of the size and in the tubs that it was to be? */
function isAsMade(
  kept: Problem["kept"],
  before: Load,
  { spec, meaning: { route, bakeSite, handOver, tubsG } }: MadeLoad,
): boolean {
  if (before.tubs.length !== tubsG.length) return false;
  const names = beforeOf(kept, spec.id).tubNames(tubsG.length);
  for (let i = 0; i < tubsG.length; i++)
    if (before.tubs[i]!.doughG !== tubsG[i] || before.tubs[i]!.id !== names[i]) return false;
  return (
    before.product === spec.product &&
    before.route === route.id &&
    before.bakedAt === bakeSite &&
    before.deliveredTo === spec.deliverTo &&
    before.handOver === (handOver ?? undefined) &&
    before.pieces === spec.pieces &&
    before.pans === spec.pans &&
    before.doughG === spec.doughG &&
    before.scrapped === undefined
  );
}

function tubsOf(problem: Problem, { spec, meaning: { tubsG } }: MadeLoad): Load["tubs"] {
  const names = beforeOf(problem.kept, spec.id).tubNames(tubsG.length);
  const tubs: Load["tubs"] = [];
  for (let i = 0; i < tubsG.length; i++) tubs.push({ id: names[i]!, doughG: tubsG[i]! });
  return tubs;
}

function wantedPieces({ portions }: MadeLoad["spec"]): number {
  let wanted = 0;
  for (const { pieces } of portions) wanted += pieces;
  return wanted;
}

function mergedShares(spec: MadeLoad["spec"]): Load["orders"] {
  const [first] = spec.portions;
  if (first && spec.portions.length === 1) return [{ line: first.want.line.id, pieces: first.pieces }];
  const byLine = new Map<string, number>();
  for (const { line, pieces } of sharesOf(spec)) byLine.set(line, (byLine.get(line) ?? 0) + pieces);
  return [...byLine].map(([line, pieces]) => ({ line, pieces }));
}

function areSameShares(was: Load["orders"], now: Load["orders"]): boolean {
  if (was.length !== now.length) return false;
  for (let i = 0; i < was.length; i++)
    if (was[i]!.pieces !== now[i]!.pieces || was[i]!.line !== now[i]!.line) return false;
  return true;
}

function vanTrips(
  problem: Problem,
  loads: readonly MadeLoad[],
  scrapped: readonly ScrappedLoad[],
  clock: Clock,
): VanTrip[] {
  const shares = new Map<TripTimes, VanTrip["loads"]>();
  for (const load of loads) {
    const { trip } = load.meaning;
    if (!trip) continue;
    const own = shares.get(trip);
    const share = { load: load.spec.id, positions: load.mode.tripAmount };
    if (own) own.push(share);
    else shares.set(trip, [share]);
  }
  const trips: VanTrip[] = [];
  for (const trip of problem.index.trips) {
    const own = shares.get(trip) ?? [];
    addScrapped(problem, own, trip, scrapped);
    if (own.length === 0) continue;
    trips.push({
      id: trip.id,
      run: trip.run.id,
      departs: clock(trip.departs, trip.run.from),
      arrives: clock(trip.arrives, trip.run.to),
      loads: own,
    });
  }
  return trips;
}

/** What was on a trip and is thrown away was on it all the same. */
function addScrapped(
  problem: Problem,
  shares: VanTrip["loads"],
  trip: TripTimes,
  scrapped: readonly ScrappedLoad[],
): void {
  const before = problem.index.day.inForce?.vans ?? [];
  for (const { begun, tasks } of scrapped) {
    if (!wasOn(tasks, trip.id)) continue;
    for (const van of before) for (const share of van.loads) if (share.load === begun.load.id) shares.push(share);
  }
}

function wasOn(tasks: ScrappedLoad["tasks"], trip: string): boolean {
  for (const { task } of tasks) if (task.van === trip) return true;
  return false;
}

function outcomes(
  problem: Problem,
  loads: readonly MadeLoad[],
  clock: Clock,
  reasons: Imprint["reasons"],
): OrderOutcome[] {
  const made = madePieces(loads);
  const ready = new Map<string, number>();
  for (const load of loads) {
    for (const { want } of load.spec.portions)
      ready.set(want.line.id, Math.max(ready.get(want.line.id) ?? 0, load.delivered));
  }
  const orders: OrderOutcome[] = [];
  for (const { line, due } of problem.index.wants) {
    const pieces = made.get(line.id) ?? 0;
    const readyAt = ready.get(line.id);
    const lateMinutes = readyAt === undefined ? 0 : Math.max(0, readyAt - due);
    const shortPieces = line.pieces - pieces;
    const isLate = lateMinutes > 0;
    const state = shortPieces > 0 ? (isLate ? "late-and-short" : "short") : isLate ? "late" : "on-time";
    const why = reasons?.get(line.id);
    orders.push({
      line: line.id,
      state,
      pieces,
      shortPieces,
      due: clock(due, line.site),
      ...(readyAt === undefined ? {} : { ready: clock(readyAt, line.site) }),
      lateMinutes,
      ...(why && state !== "on-time" ? { why } : {}),
    });
  }
  return orders;
}

function statusOf(problem: Problem, orders: readonly OrderOutcome[], imprint: Imprint, total: number): Status {
  if (imprint.cancelled) return "cancelled";
  if (problem.index.wants.length > 0 && orders.every((order) => order.pieces === 0)) return "no-plan-in-time";
  if (orders.some((order) => order.shortPieces > 0)) return "short";
  if (imprint.bound !== undefined && total - imprint.bound <= PROVEN_WITHIN) return "optimal";
  return "feasible";
}

/** The bound as it is given out. Where sums of many figures are rounded apart by a hair, the total is the bound. */
function boundAndGap(bound: number, total: number): Pick<Timetable, "bound" | "gapPercent"> {
  const given = Math.min(bound, total);
  return { bound: given, gapPercent: total > 0 ? (100 * (total - given)) / total : 0 };
}

/** All tasks in order of start. (A loop: what the compiler makes of a function that is made for one call is lost with it.) */
function tasksOf(
  problem: Problem,
  batches: readonly MadeBatch[],
  loads: readonly MadeLoad[],
  scrapped: readonly ScrappedLoad[],
  clock: Clock,
): Task[] {
  const writer = new TaskWriter(problem, clock, new PositionBook(problem, loads));
  const tasks: Task[] = [];
  for (const batch of batches) {
    tasks.push(writer.mix(batch));
    for (const load of batch.loads) writer.load(load, tasks);
  }
  for (const load of scrapped) for (const task of writer.scrapped(load)) tasks.push(task);
  for (const task of cleaningTasks(problem, batches, scrapped, clock)) tasks.push(task);
  return inOrder(problem.index, tasks);
}

function loadsOf(
  problem: Problem,
  batches: readonly MadeBatch[],
  scrapped: readonly ScrappedLoad[],
  clock: Clock,
): Load[] {
  const loads: Load[] = [];
  for (const batch of batches) {
    const { id } = problem.batches[batch.number]!;
    for (const load of batch.loads) loads.push(loadOf(problem, load, id));
  }
  for (const load of scrapped) loads.push(scrappedLoadOf(problem, load, clock));
  return loads;
}

/** Tasks that were told not to have started, without a time: the timetable goes by that, and at a later instant it is no news. D22. */
function toldNotStarted({ begun, index }: Problem, tasks: readonly Task[]): string[] {
  const told = new Set<string>();
  if (!begun) return [];
  for (const happening of index.day.happenings.happenings)
    if (happening.kind === "not-started" && happening.notBefore === undefined) told.add(happening.task);
  const found: string[] = [];
  if (told.size > 0) for (const { id } of tasks) if (told.has(id)) found.push(id);
  return found;
}

/** Writes a plan of the search as a timetable. */
export function emitTimetable(problem: Problem, plan: PlanCopy, imprint: Imprint): Timetable {
  const clock = createClock(problem);
  const made = madeBatches(problem, plan);
  const batches = problem.begun ? withSurplusDealt(problem, made) : made;
  const loads: MadeLoad[] = [];
  for (const batch of batches) for (const load of batch.loads) loads.push(load);
  const scrapped = scrappedLoads(problem, plan);
  const heat = heatPlan(problem, [...loads, ...scrapped], clock);
  const vans = vanTrips(problem, loads, scrapped, clock);
  const orders = outcomes(problem, loads, clock, imprint.reasons);
  const cost = costOf(problem, batches, loads, scrapped, heat, vans);
  const firstSite = problem.index.day.network.sites[0]!.id;
  const tasks = tasksOf(problem, batches, loads, scrapped, clock);
  const notStarted = toldNotStarted(problem, tasks);
  const timetable: Timetable = {
    format: "timetable/1",
    status: statusOf(problem, orders, imprint, cost.total),
    window: { from: clock(0, firstSite), to: clock(problem.index.horizon, firstSite) },
    seed: imprint.seed,
    iterations: imprint.iterations,
    ...(imprint.bound === undefined ? {} : boundAndGap(imprint.bound, cost.total)),
    batches: batchesOf(problem, batches, scrapped),
    loads: loadsOf(problem, batches, scrapped, clock),
    tasks,
    ovenProgram: heat.ovenProgram,
    kettleProgram: heat.kettleProgram,
    vans,
    orders,
    cost,
    ...(notStarted.length > 0 ? { notStarted } : {}),
  };
  const gone = goneSince(problem.index.day, timetable);
  return gone.length > 0 ? { ...timetable, gone } : timetable;
}
