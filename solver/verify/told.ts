import type { DayDocuments, Load, OrderLine, Product, Site, Timetable } from "../../schemas/index.js";
import { catalogueFacts, routeFacts, routeOf, stepThat } from "./catalogue-facts.js";
import { type InForceFacts, inForceFacts, type PlannedTask } from "./in-force.js";
import { whenMinute } from "./time.js";

/** The verifier's own reading of what happened: orders, late trips, and what of the timetable in force has begun. */

/** D22: lines as they stand. */
export function toldLines(day: DayDocuments): OrderLine[] {
  let lines = [...day.orders.lines];
  for (const happening of day.happenings.happenings) {
    if (happening.kind === "order-added")
      lines = [...lines.filter(({ id }) => id !== happening.line.id), happening.line];
    else if (happening.kind === "order-cancelled") lines = lines.filter(({ id }) => id !== happening.line);
    else if (happening.kind === "order-changed") {
      lines = lines.map((line) =>
        line.id !== happening.line
          ? line
          : {
              ...line,
              pieces: happening.pieces ?? line.pieces,
              due: happening.due ?? line.due,
              ...(happening.priority === undefined ? {} : { priority: happening.priority }),
            },
      );
    }
  }
  return lines;
}

/** Minutes on a unit that is slower, for work that has not begun. */
export function slowMinutes(day: DayDocuments, unit: string | undefined, minutes: number): number {
  let slow = minutes;
  for (const happening of day.happenings.happenings)
    if (happening.kind === "slower" && happening.unit === unit)
      slow = Math.ceil((minutes * happening.percent) / 100 - 1e-9);
  return slow;
}

/** A task that has begun, in epoch minutes. */
export interface BegunFact {
  readonly start: number;
  /** Null: it stands, and when it ends is still to be decided. */
  readonly end: number | null;
  /** When its unit failed under it, if it did. */
  readonly failsAt: number | null;
}

interface Told {
  start?: number;
  end?: number;
  runsUntil?: number;
  /** It had not begun, and could not before this. */
  notBefore?: number;
  /** Number of the happening that spoke of it last. */
  last?: number;
}

const NOTHING_TOLD: Told = {};

/** The task has not begun: what it cannot start before is still ahead. */
function isWaiting(told: Told | undefined, at: number): boolean {
  return told?.notBefore !== undefined && told.notBefore >= at;
}

/** D21. A report that a task has not begun, without a time, is dealt with by the repair that went by it. */
function toldOf(day: DayDocuments, sites: ReadonlyMap<string, Site>, at: number): Map<string, Told> {
  const told = new Map<string, Told>();
  // Nothing is told of most tasks.
  let zones: ReadonlyMap<string, string> | undefined;
  const zoneOf = (task: string): string => {
    zones ??= new Map(day.inForce?.tasks.map(({ id, site }) => [id, sites.get(site)?.timeZone ?? "UTC"]));
    return zones.get(task) ?? "UTC";
  };
  for (const [number, happening] of day.happenings.happenings.entries()) {
    const { kind } = happening;
    if (kind !== "started" && kind !== "finished" && kind !== "running" && kind !== "not-started") continue;
    // Who is told not to have begun was not, whatever was said before of it and of what comes after it.
    if (kind === "not-started" && told.size > 0)
      for (const after of tasksAfter(day.inForce, happening.task)) told.delete(after);
    const entry: Told = (kind === "not-started" ? undefined : told.get(happening.task)) ?? {};
    entry.last = number;
    told.set(happening.task, entry);
    const minute = (when: string): number => whenMinute(when, zoneOf(happening.task));
    if (kind === "not-started") {
      if (happening.notBefore !== undefined) entry.notBefore = minute(happening.notBefore);
      else if (!day.inForce?.notStarted?.includes(happening.task)) entry.notBefore = at;
      continue;
    }
    // Who has begun waits no longer.
    delete entry.notBefore;
    if (kind === "started") entry.start = minute(happening.at);
    else if (kind === "running") entry.runsUntil = minute(happening.until);
    else {
      entry.end = minute(happening.at);
      if (happening.startedAt !== undefined) entry.start = minute(happening.startedAt);
    }
  }
  for (const [task, entry] of told)
    if (entry.notBefore !== undefined && wentOnAfter(day.inForce, task, entry.last!, told)) delete entry.notBefore;
  return told;
}

/** What comes after a task of the timetable in force: in its load, and after a mix in all loads of its batch. */
function* tasksAfter(inForce: Timetable | undefined, id: string): Iterable<string> {
  if (!inForce) return;
  const { chains, loads, mixes, tasks } = inForceFacts(inForce);
  const own = tasks.get(id);
  const isMix = own?.batch !== undefined && mixes.get(own.batch)?.task === own;
  for (const [load, chain] of chains) {
    if (isMix ? loads.get(load)?.batch !== own.batch : load !== own?.load) continue;
    let isAfter = isMix;
    for (const { task } of chain) {
      if (isAfter) yield task.id;
      isAfter ||= task === own;
    }
  }
}

/** D21: something that comes after the task was told to have begun, later than what was told of the task itself. */
function wentOnAfter(
  inForce: Timetable | undefined,
  id: string,
  since: number,
  told: ReadonlyMap<string, Told>,
): boolean {
  for (const after of tasksAfter(inForce, id)) {
    const { last = -1, start, end, runsUntil } = told.get(after) ?? NOTHING_TOLD;
    if (last > since && (start ?? end ?? runsUntil) !== undefined) return true;
  }
  return false;
}

/** Tasks that were told not to have begun, and when they can: only while that is ahead. */
export function waitingTold(day: DayDocuments, sites: ReadonlyMap<string, Site>, at: number): Map<string, number> {
  const waiting = new Map<string, number>();
  for (const [task, { notBefore }] of toldOf(day, sites, at))
    if (notBefore !== undefined && notBefore > at) waiting.set(task, notBefore);
  return waiting;
}

interface Outage {
  readonly unit: string;
  /** How the names of its parts begin. */
  readonly parts: string;
  readonly from: number;
  readonly to: number;
}

function outagesTold(day: DayDocuments, sites: ReadonlyMap<string, Site>): Outage[] {
  return day.happenings.happenings.flatMap((happening) => {
    if (happening.kind !== "out-of-service") return [];
    const zone = sites.get(happening.unit.split("/")[0]!)?.timeZone ?? "UTC";
    const to = happening.to === undefined ? Number.POSITIVE_INFINITY : whenMinute(happening.to, zone);
    return [{ unit: happening.unit, parts: `${happening.unit}/`, from: whenMinute(happening.from, zone), to }];
  });
}

const covers = (outage: Outage, unit: string | undefined): boolean =>
  unit !== undefined && (unit === outage.unit || unit.startsWith(outage.parts));

type Rides = ReadonlyMap<string, { readonly from: number; readonly to: number }>;

const NO_CHAIN: readonly PlannedTask[] = [];

/**
 * D21: by id, the tasks of the timetable in force that have begun before `at`. Reports come first; without one a task went as planned if what
 * leads to it was over by its planned start and its unit was in service. `from`: when the window begins; nothing was mixed before.
 */
export function begunFacts(
  day: DayDocuments,
  sites: ReadonlyMap<string, Site>,
  at: number,
  rides: Rides,
  from: number,
): Map<string, BegunFact> {
  return day.inForce ? new BegunReader(day, day.inForce, sites, at, rides, from).read() : new Map();
}

/** Follows what was planned and told, load by load. (A class, not functions in one: what the compiler made of those was lost with them.) */
class BegunReader {
  private readonly begun = new Map<string, BegunFact>();
  private readonly told: ReadonlyMap<string, Told>;
  private readonly outages: readonly Outage[];
  private readonly products: ReadonlyMap<string, Product>;
  private readonly mixes: InForceFacts["mixes"];
  private readonly chains: InForceFacts["chains"];

  constructor(
    day: DayDocuments,
    private readonly inForce: Timetable,
    sites: ReadonlyMap<string, Site>,
    private readonly at: number,
    private readonly rides: Rides,
    private readonly from: number,
  ) {
    this.told = toldOf(day, sites, at);
    this.outages = outagesTold(day, sites);
    this.products = catalogueFacts(day.catalogue).firstProducts;
    const { mixes, chains } = inForceFacts(inForce);
    this.mixes = mixes;
    this.chains = chains;
  }

  read(): Map<string, BegunFact> {
    for (const load of this.inForce.loads) this.readLoad(load);
    return this.begun;
  }

  private readLoad(load: Load): void {
    const { begun } = this;
    const mix = this.mixes.get(load.batch);
    if (!mix) return;
    let mixed = begun.get(mix.task.id) ?? null;
    if (!mixed) {
      mixed = this.work(mix, Number.NEGATIVE_INFINITY, this.toldOfBatch(load.batch), this.from);
      if (!mixed) return;
      begun.set(mix.task.id, mixed);
    }
    if (mixed.failsAt !== null && !load.scrapped) return;
    const chain = this.chains.get(load.id) ?? NO_CHAIN;
    if (load.scrapped) {
      for (const { task, start, end } of chain) begun.set(task.id, { start, end, failsAt: null });
      return;
    }
    this.followChain(chain, mixed, load);
  }

  /** When a unit fails under what is on it from `from` to `to`, if it does. */
  private failure(unit: string | undefined, from: number, to: number): number | null {
    let first = Number.POSITIVE_INFINITY;
    for (const outage of this.outages)
      if (covers(outage, unit) && outage.from < to && outage.to > from) first = Math.min(first, outage.from);
    return first === Number.POSITIVE_INFINITY ? null : Math.max(from, first);
  }

  /** Was the unit out of service at a minute? */
  private wasOut(unit: string | undefined, minute: number): boolean {
    for (const outage of this.outages)
      if (covers(outage, unit) && outage.from <= minute && minute < outage.to) return true;
    return false;
  }

  /** When something was told to be done of tasks from the `from`-th on, at the earliest; infinity: nothing was. */
  private toldOfAny(chain: readonly PlannedTask[], from: number): number {
    const { told, rides, at } = this;
    let least = Number.POSITIVE_INFINITY;
    if (told.size === 0) return least;
    for (let i = from; i < chain.length; i++) {
      const { task, start } = chain[i]!;
      const report = told.get(task.id);
      if (!report || isWaiting(report, at)) continue;
      const { start: began, end, runsUntil } = report;
      if (began === undefined && end === undefined && runsUntil === undefined) continue;
      const done = began ?? end ?? Math.min(at, runsUntil!);
      least = Math.min(least, task.does === "van" ? (rides.get(task.van ?? "")?.from ?? start) : done);
    }
    return least;
  }

  private toldOfBatch(batch: string): number {
    let least = Number.POSITIVE_INFINITY;
    if (this.told.size === 0) return least;
    for (const load of this.inForce.loads)
      if (load.batch === batch) least = Math.min(least, this.toldOfAny(this.chains.get(load.id) ?? NO_CHAIN, 0));
    return least;
  }

  /** `by`: when something that follows was told to be done; then the task is over, though nobody said so. */
  private work(own: PlannedTask, ready: number, by: number, notBefore: number): BegunFact | null {
    const { at } = this;
    const { task } = own;
    const report = this.told.get(task.id) ?? NOTHING_TOLD;
    if (isWaiting(report, at)) return null;
    const ride = task.van === undefined ? undefined : this.rides.get(task.van);
    const wasPlanned = ride?.from ?? own.start;
    const lasts = (ride?.to ?? own.end) - wasPlanned;
    const planned = Math.max(wasPlanned, report.notBefore ?? wasPlanned);
    if (task.does === "van") {
      const isOn = (report.start ?? report.end ?? report.runsUntil) !== undefined || by <= at || planned >= ready;
      // What could not be loaded in time is not on it.
      if (planned >= at || planned > wasPlanned || !isOn) return null;
      const leaves = Math.max(planned, notBefore);
      return leaves < at ? { start: leaves, end: leaves + lasts, failsAt: null } : null;
    }
    let start = report.start;
    // Told late: what follows had been told to be done by then.
    if (start !== undefined && by <= at) start = Math.min(start, by - 1);
    if (start === undefined && report.end !== undefined) start = Math.min(planned, report.end - 1, by - 1);
    if (start === undefined && report.runsUntil !== undefined) start = Math.min(planned, report.runsUntil - 1, at - 1);
    if (start === undefined && by <= at) start = Math.min(Math.max(planned, ready), by - 1);
    if (start === undefined) {
      // What was held up for a while is done as soon as it can be.
      const begins = Math.max(planned, ready);
      if (planned >= at || (lasts > 0 && this.wasOut(task.unit, begins))) return null;
      start = begins;
    }
    start = Math.max(start, notBefore);
    if (start >= at) return null;
    let end = start + lasts;
    if (report.end !== undefined) end = Math.max(start + 1, Math.min(report.end, by));
    else if (by <= at) end = Math.min(end, Math.max(start + 1, by));
    else if (report.runsUntil !== undefined) end = Math.max(start + 1, report.runsUntil);
    const fails = report.end === undefined && by > at ? this.failure(task.unit, start, end) : null;
    return { start, end, failsAt: fails };
  }

  private followChain(chain: readonly PlannedTask[], mixed: BegunFact, { product, route: routeId }: Load): void {
    const { begun, told, at } = this;
    const route = routeOf(this.products.get(product), routeId);
    let ready = mixed.end!;
    // Steps begin in the route's order, one after a worked one no sooner than a minute after that, whatever was told of them.
    let inTurn = mixed.start + 1;
    let plannedReady = chain.length > 0 ? chain[0]!.start : 0;
    let before: PlannedTask | null = null;
    for (let i = 0; i < chain.length; i++) {
      const own: PlannedTask = chain[i]!;
      const { task, stands } = own;
      const stood: BegunFact | undefined = before?.stands ? begun.get(before.task.id) : undefined;
      const afterStand = stood?.end === null;
      if (ready > at) return;
      const by = this.toldOfAny(chain, i + 1);
      let fact: BegunFact | null;
      if (stands && !afterStand) {
        const start = Math.max(ready, Math.min(ready + own.start - plannedReady, by));
        fact = start < at ? { start, end: null, failsAt: null } : null;
      } else fact = this.work(own, ready, by, inTurn);
      if (!fact) return;
      inTurn = stands || task.does === "van" ? fact.start : fact.start + 1;
      if (afterStand) begun.set(before!.task.id, { ...stood, end: fact.start });
      if (stands) {
        const { end: toldEnd, runsUntil } = told.get(task.id) ?? NOTHING_TOLD;
        let whole = fact.start + own.end - own.start;
        if (toldEnd !== undefined) whole = Math.max(fact.start + 1, Math.min(toldEnd, by));
        else if (by <= at) whole = Math.min(whole, Math.max(fact.start + 1, by));
        else if (runsUntil !== undefined) whole = Math.max(fact.start + 1, runsUntil);
        const isLast = onlyRidesAfter(chain, i);
        const step = route ? stepThat(route, task.does) : undefined;
        const least = step && "leastMinutes" in step && task.does !== "retard" ? step.leastMinutes : 0;
        begun.set(task.id, { start: fact.start, end: isLast && whole <= at ? whole : null, failsAt: null });
        ready = isLast ? whole : Math.min(fact.start + least, Math.max(fact.start, by));
      } else {
        begun.set(task.id, fact);
        ready = fact.end!;
        const goesOn = task.does === "shape" || task.does === "top" || task.does === "pack";
        const bake = route ? routeFacts(route).bake : undefined;
        const staysThere = task.does === "bake" && bake?.ifInterrupted === "finish-there";
        if (fact.failsAt !== null && !goesOn && !staysThere) return;
      }
      plannedReady = (task.van === undefined ? undefined : this.rides.get(task.van)?.to) ?? own.end;
      before = own;
    }
  }
}

function onlyRidesAfter(chain: readonly PlannedTask[], i: number): boolean {
  for (let k = i + 1; k < chain.length; k++) if (chain[k]!.task.does !== "van") return false;
  return true;
}
