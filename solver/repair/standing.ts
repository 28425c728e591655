import type { Batch, Load, Place, Product, Route, StandingStep, Step, Task } from "../../schemas/index.js";
import { formatInstant } from "../calendar.js";
import type { BegunBatch, BegunLoad, BegunTask } from "../problem/begun.js";
import { type DayIndex, isOf } from "../problem/day-index.js";
import { inForceOf } from "../problem/in-force.js";
import { endIn, minuteIn, startIn } from "../problem/kept.js";
import { isToldBegun, type Loss, lossesOf, type Report, readReports, spoiledIds, waits } from "./reports.js";

/** The timetable in force as it stands at the instant: what has begun, really, and what was told of the rest. */
export interface Standing {
  readonly at: number;
  readonly batches: ReadonlyMap<string, BegunBatch>;
  readonly loads: ReadonlyMap<string, BegunLoad>;
  readonly reports: ReadonlyMap<string, Report>;
}

const STANDING: ReadonlySet<Task["does"]> = new Set(["rest", "retard", "temper", "proof", "cool"]);

export function isStandingTask(task: Task): boolean {
  return STANDING.has(task.does);
}

/** The outage of a unit that a task meets from `start` on, if any. */
function outageMet(index: DayIndex, unit: string | undefined, start: number, end: number): number | null {
  if (unit === undefined) return null;
  let first = Number.POSITIVE_INFINITY;
  for (const outage of index.outages)
    if (isOf(unit, outage.unit) && outage.from < end && start < outage.to) first = Math.min(first, outage.from);
  return first === Number.POSITIVE_INFINITY ? null : Math.max(start, first);
}

/** When a position fails for what stands in it from `start` on, if it does: its unit is out of service or has become smaller. */
function placeFails(index: DayIndex, { unit, position }: Place, start: number): number | null {
  const out = outageMet(index, unit, start, index.horizon);
  let first = out ?? Number.POSITIVE_INFINITY;
  for (const shrinkage of index.shrinkages)
    if (shrinkage.unit === unit && position > shrinkage.positions && shrinkage.to > start)
      first = Math.min(first, Math.max(start, shrinkage.from));
  return first === Number.POSITIVE_INFINITY ? null : first;
}

/** When the first of a task's positions fails, if one does. */
function firstFailing(index: DayIndex, { places = [] }: Task, start: number): number | undefined {
  let first = Number.POSITIVE_INFINITY;
  for (const place of places) first = Math.min(first, placeFails(index, place, start) ?? Number.POSITIVE_INFINITY);
  return first === Number.POSITIVE_INFINITY ? undefined : first;
}

/** When something was told to be done of a task, at the earliest; infinity: nothing was. */
function toldAt(index: DayIndex, task: Task, reports: ReadonlyMap<string, Report>): number {
  const report = reports.get(task.id);
  const at = index.at ?? 0;
  if (!report || waits(report, at) || !isToldBegun(report)) return Number.POSITIVE_INFINITY;
  if (task.does === "van") return startIn(index, task);
  return report.startedAt ?? report.finishedAt ?? Math.min(at, report.until!);
}

/** When something was told to be done of tasks from the `from`-th on, at the earliest. */
function earliestTold(
  index: DayIndex,
  tasks: readonly Task[],
  from: number,
  reports: ReadonlyMap<string, Report>,
): number {
  let least = Number.POSITIVE_INFINITY;
  if (reports.size === 0) return least;
  for (let i = from; i < tasks.length; i++) least = Math.min(least, toldAt(index, tasks[i]!, reports));
  return least;
}

function isOut(index: DayIndex, unit: string, minute: number): boolean {
  for (const outage of index.outages)
    if (isOf(unit, outage.unit) && outage.from <= minute && minute < outage.to) return true;
  return false;
}

/**
 * D21: when a worked task began, or null when it has not. `ready`: when what leads to it was over. `by`: when something that follows it was told to be done (so it was
 * over by then, though nobody said so, or only later), or infinity.
 */
function beginOf(
  index: DayIndex,
  task: Task,
  ready: number,
  report: Report | undefined,
  at: number,
  by: number,
): number | null {
  if (waits(report, at)) return null;
  const start = startIn(index, task);
  const planned = Math.max(start, report?.notBefore ?? 0);
  // A ride has the times of its trip; reports only say that the load is on it.
  if (task.does === "van") {
    const isOn = isToldBegun(report) || by <= at || planned >= ready;
    return planned === start && planned < at && isOn ? planned : null;
  }
  const told = report?.startedAt;
  if (told !== undefined) return by <= at ? Math.min(told, by - 1) : told;
  const minutes = endIn(index, task) - start;
  if (report?.finishedAt !== undefined) return Math.min(planned, Math.min(report.finishedAt, by) - 1);
  if (report?.until !== undefined) return Math.min(planned, Math.min(at, report.until) - 1);
  if (by <= at) return Math.min(Math.max(planned, ready), by - 1);
  if (planned >= at) return null;
  // What was held up for a while is done as soon as it can be.
  const begin = Math.max(planned, ready);
  // Nobody begins on a unit that is out of service.
  return minutes > 0 && isOut(index, task.unit ?? "", begin) ? null : begin;
}

function endOf(index: DayIndex, task: Task, begin: number, report: Report | undefined, at: number, by: number): number {
  const planned = endIn(index, task) - startIn(index, task);
  if (task.does === "van") return begin + planned;
  if (report?.finishedAt !== undefined) return Math.max(begin + 1, Math.min(report.finishedAt, by));
  if (by <= at) return Math.min(begin + planned, Math.max(begin + 1, by));
  if (report?.until !== undefined) return Math.max(begin + 1, report.until);
  return begin + planned;
}

interface Walk {
  readonly tasks: BegunTask[];
  scrapped: { minute: number; why: string } | null;
}

function stepOf(route: Route | undefined, task: Task): Step | undefined {
  for (const step of route?.steps ?? []) if (step.does === task.does) return step;
  return undefined;
}

function onlyRidesAfter(tasks: readonly Task[], i: number): boolean {
  for (let k = i + 1; k < tasks.length; k++) if (tasks[k]!.does !== "van") return false;
  return true;
}

/** Follows a load's chain as far as it has begun. */
function walkLoad(
  index: DayIndex,
  route: Route | undefined,
  tasks: readonly Task[],
  mix: Pick<Mixed, "start" | "end">,
  at: number,
  reports: ReadonlyMap<string, Report>,
): Walk {
  const walk: Walk = { tasks: [], scrapped: null };
  let ready = mix.end;
  // Whatever was told, steps begin in the order of the route, and work takes a minute at the least.
  let soonest = mix.start + 1;
  let plannedReady = tasks[0] ? startIn(index, tasks[0]) : 0;
  for (let i = 0; i < tasks.length; i++) {
    const task = tasks[i]!;
    if (ready > at) return walk;
    const report = reports.get(task.id);
    const by = earliestTold(index, tasks, i + 1, reports);
    const planned = startIn(index, task);
    const last = walk.tasks[walk.tasks.length - 1];
    const afterStanding = last !== undefined && isStandingTask(last.task) && last.end === null;
    let begin: number | null;
    if (isStandingTask(task) && !afterStanding) {
      begin = Math.max(ready, Math.min(ready + (planned - plannedReady), by));
      if (begin >= at) begin = null;
    } else begin = beginOf(index, task, ready, report, at, by);
    if (begin !== null) begin = Math.max(begin, soonest);
    if (begin === null || begin >= at) return walk;
    if (afterStanding) walk.tasks[walk.tasks.length - 1] = { ...last, end: begin };
    const isOpen = isStandingTask(task);
    soonest = isOpen || task.does === "van" ? begin : begin + 1;
    let end = endOf(index, task, begin, report, at, by);
    if (isOpen) {
      const isLast = onlyRidesAfter(tasks, i);
      const unit = task.places?.[0]?.unit;
      ready = end;
      if (isLast && end <= at) walk.tasks.push({ task, start: begin, end });
      else {
        const carriedAt = unit === undefined ? undefined : firstFailing(index, task, begin);
        walk.tasks.push({ task, start: begin, end: null, ...(carriedAt === undefined ? {} : { carriedAt }) });
        const least = (stepOf(route, task) as StandingStep | undefined)?.leastMinutes ?? 0;
        if (!isLast) ready = Math.min(begin + (task.does === "retard" ? 0 : least), Math.max(begin, by));
      }
    } else {
      const cut = task.does === "van" ? null : outageMet(index, task.unit, begin, end);
      const told = report?.finishedAt !== undefined || by <= at;
      if (cut !== null && !told) {
        // What was carried to another deck half-baked is not carried again.
        const isSecondPart = task.does === "bake" && tasks[i - 1]?.does === "bake";
        const rule =
          task.does === "bake" && !isSecondPart
            ? ((stepOf(route, task) as { ifInterrupted?: string })?.ifInterrupted ?? "scrap")
            : "scrap";
        const goesOn = rule === "finish-there" || task.does === "shape" || task.does === "top" || task.does === "pack";
        if (!goesOn && rule === "finish-elsewhere") {
          walk.tasks.push({ task, start: begin, end: cut, cutAt: cut });
          return walk;
        }
        if (!goesOn) {
          walk.scrapped = { minute: Math.min(cut, at), why: `${task.unit} failed during its ${task.does}.` };
          end = Math.min(cut, at);
        }
      }
      const isFirstPart = task.does === "bake" && tasks[i + 1]?.id === `${task.id}-2`;
      walk.tasks.push({ task, start: begin, end, ...(isFirstPart ? { cutAt: end } : {}) });
      if (walk.scrapped) return walk;
      ready = end;
    }
    plannedReady = endIn(index, task);
  }
  return walk;
}

const standings = new WeakMap<DayIndex, Standing>();

/** Where the timetable in force stands at the day's instant. D21. */
export function standingOf(index: DayIndex): Standing {
  let standing = standings.get(index);
  if (!standing) {
    standing = workOut(index);
    standings.set(index, standing);
  }
  return standing;
}

function workOut(index: DayIndex): Standing {
  const at = index.at ?? 0;
  const reports = readReports(index);
  const lost = lossesOf(index);
  const morning = { index, at, reports, lost, spoiled: spoiledIds(index) };
  const batches = new Map<string, BegunBatch>();
  const loads = new Map<string, BegunLoad>();
  const { inForce } = index.day;
  const { chains: ofLoad, loadsOfBatch: ofBatch, mixes } = inForceOf(inForce);
  for (const batch of inForce?.batches ?? []) {
    const task = mixes.get(batch.id);
    if (!task) continue;
    const report = reports.get(task.id);
    const own = ofBatch.get(batch.id) ?? [];
    let by = Number.POSITIVE_INFINITY;
    for (const { id } of own) by = Math.min(by, earliestTold(index, ofLoad.get(id) ?? [], 0, reports));
    const begun = beginOf(index, task, 0, report, at, by);
    if (begun === null || begun >= at) continue;
    // Before the day nothing was mixed for it.
    const begin = Math.max(0, begun);
    let end = endOf(index, task, begin, report, at, by);
    const isOver = report?.finishedAt !== undefined || by <= at;
    const cut = isOver ? null : outageMet(index, task.unit, begin, end);
    if (cut !== null) end = Math.min(cut, at);
    const mixed = { batch, start: begin, end, cut, unit: task.unit };
    const begunLoads: BegunLoad[] = [];
    for (const load of own) begunLoads.push(begunLoad(morning, load, ofLoad.get(load.id) ?? [], mixed));
    batches.set(batch.id, { id: batch.id, mix: { task, start: begin, end }, loads: begunLoads });
    for (const load of begunLoads) loads.set(load.load.id, load);
  }
  return { at, batches, loads, reports };
}

/** What was told, as far as it bears on loads. */
interface Morning {
  readonly index: DayIndex;
  readonly at: number;
  readonly reports: ReadonlyMap<string, Report>;
  readonly lost: ReadonlyMap<string, Loss>;
  readonly spoiled: ReturnType<typeof spoiledIds>;
}

/** A mix that has begun; `cut`: its mixer failed then. */
interface Mixed {
  readonly batch: Batch;
  readonly start: number;
  readonly end: number;
  readonly cut: number | null;
  readonly unit: string | undefined;
}

function begunLoad(
  { index, at, reports, lost, spoiled }: Morning,
  load: Load,
  tasks: readonly Task[],
  mixed: Mixed,
): BegunLoad {
  const { batch, end, cut, unit } = mixed;
  const product: Product | undefined = index.products.get(load.product);
  const route = routeOf(product, load.route);
  const chain = onItsTrips(index, tasks);
  const now = withLoss(load, lost.get(load.id));
  const lostPieces = now.lostPieces ?? 0;
  const base = { load: now, batch: batch.id };
  if (load.scrapped)
    return {
      ...base,
      ...past(index, tasks),
      scrapped: { minute: minuteIn(index, load.scrapped.at), why: load.scrapped.why },
    };
  if (cut !== null)
    return {
      ...base,
      tasks: [],
      scrapped: { minute: Math.min(cut, at), why: `${unit} failed while its dough was mixed.` },
    };
  const walk = walkLoad(index, route, chain, mixed, at, reports);
  const isBaked = wasBaked(walk.tasks, at);
  // Dough that went bad is not what was baked of it before; of a load that is named all is meant.
  const thrownAway = spoiled.loads.has(load.id) || (spoiled.batches.has(batch.id) && !isBaked);
  const scrapped =
    walk.scrapped ??
    (thrownAway ? { minute: at, why: "It was told to be spoiled." } : null) ??
    (lostPieces >= load.pieces ? { minute: at, why: "All its pieces were lost." } : null);
  const whole = scrapped && !walk.scrapped ? { ...scrapped, minute: Math.max(scrapped.minute, end) } : scrapped;
  return { ...base, tasks: whole ? cutTasks(walk.tasks, whole.minute) : walk.tasks, scrapped: whole };
}

/** What was lost once stays lost. */
function withLoss(load: Load, loss: Loss | undefined): Load {
  if (!loss) return load;
  const { lostPieces = 0, shortPieces = 0 } = load;
  const short = Math.max(shortPieces, loss.short);
  const lost = Math.min(load.pieces, Math.max(lostPieces, loss.told + loss.short));
  return { ...load, ...(lost > 0 ? { lostPieces: lost } : {}), ...(short > 0 ? { shortPieces: short } : {}) };
}

/** Is its bake over, the rest of one that was cut short too? */
function wasBaked(tasks: readonly BegunTask[], at: number): boolean {
  let isBaked = false;
  for (const { task, end, cutAt } of tasks)
    if (task.does === "bake") isBaked = end !== null && end <= at && cutAt === undefined;
  return isBaked;
}

function routeOf(product: Product | undefined, id: string): Route | undefined {
  for (const route of product?.routes ?? []) if (route.id === id) return route;
  return undefined;
}

/** With rides at the times of their trips; the list itself where those are as they were. */
function onItsTrips(index: DayIndex, tasks: readonly Task[]): readonly Task[] {
  let chain: Task[] | undefined;
  for (let i = 0; i < tasks.length; i++) {
    const task = onItsTrip(index, tasks[i]!);
    if (task === tasks[i]) continue;
    chain ??= [...tasks];
    chain[i] = task;
  }
  return chain ?? tasks;
}

/** A ride at the times of its trip, which may be late. */
function onItsTrip(index: DayIndex, task: Task): Task {
  if (task.van === undefined) return task;
  const trip = tripOf(index.trips, task.van) ?? tripOf(index.cancelled, task.van);
  if (!trip || (startIn(index, task) === trip.leave && endIn(index, task) === trip.delivered)) return task;
  const text = (minute: number, site: string): string =>
    formatInstant(index.origin + minute, index.sites.get(site)!.timeZone);
  return { ...task, start: text(trip.leave, trip.run.from), end: text(trip.delivered, trip.run.to) };
}

function tripOf(trips: DayIndex["trips"], id: string): DayIndex["trips"][number] | undefined {
  for (const trip of trips) if (trip.id === id) return trip;
  return undefined;
}

function past(index: DayIndex, chain: readonly Task[]): { tasks: BegunTask[] } {
  return {
    tasks: chain.map((task) => ({ task, start: startIn(index, task), end: endIn(index, task) })),
  };
}

/** Tasks of a load that ends at a minute. */
export function cutTasks(tasks: readonly BegunTask[], minute: number): BegunTask[] {
  return tasks
    .filter((begun) => begun.start <= minute)
    .map((begun) => ({ task: begun.task, start: begun.start, end: Math.min(begun.end ?? minute, minute) }));
}
