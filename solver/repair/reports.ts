import type { Load, Task, Timetable } from "../../schemas/index.js";
import { resolveWhen } from "../calendar.js";
import type { DayIndex } from "../problem/day-index.js";
import { inForceOf } from "../problem/in-force.js";

/** What was told of a task, in minutes of the window. */
export interface Report {
  readonly startedAt?: number;
  readonly finishedAt?: number;
  readonly until?: number;
  /** It had not started; it cannot before. */
  readonly notBefore?: number;
  /** Where among the happenings the last of this is. */
  readonly told: number;
}

/** D21: whether a task was told not to have started, and that still holds. What it could not start before is past one day: then it begins as planned, if later. */
export function waits(report: Report | undefined, at: number): boolean {
  return report?.notBefore !== undefined && report.notBefore >= at;
}

/** Was it told that a task has begun? */
export function isToldBegun(report: Report | undefined): boolean {
  return report?.startedAt !== undefined || report?.finishedAt !== undefined || report?.until !== undefined;
}

/** What was told of tasks, by id. */
export function readReports(index: DayIndex): Map<string, Report> {
  const reports = new Map<string, Report>();
  // Nothing is told of tasks on most mornings.
  let known: ReadonlyMap<string, string> | undefined;
  const siteOf = (task: string): string | undefined => {
    known ??= new Map(index.day.inForce?.tasks.map(({ id, site }) => [id, site]));
    return known.get(task);
  };
  const minute = (when: string, task: string): number => {
    const site = index.sites.get(siteOf(task) ?? "");
    const resolved = site ? resolveWhen(when, site.timeZone) : { problem: "malformed" };
    if ("problem" in resolved) throw new RangeError(`"${when}" of ${task} does not resolve; check the day first`);
    return resolved.minute - index.origin;
  };
  const dealtWith = new Set(index.day.inForce?.notStarted);
  const waiting: string[] = [];
  const { happenings } = index.day.happenings;
  for (let i = 0; i < happenings.length; i++) {
    const happening = happenings[i]!;
    // A task that is no longer in force: the report has been dealt with.
    if ("task" in happening && siteOf(happening.task as string) === undefined) continue;
    const add = (task: string, report: Omit<Report, "told">): void => {
      const { notBefore: _, ...before } = reports.get(task) ?? {};
      reports.set(task, { ...before, ...report, told: i });
    };
    if (happening.kind === "started") add(happening.task, { startedAt: minute(happening.at, happening.task) });
    if (happening.kind === "running") add(happening.task, { until: minute(happening.until, happening.task) });
    if (happening.kind === "finished") {
      const { task, at, startedAt } = happening;
      add(task, {
        finishedAt: minute(at, task),
        ...(startedAt === undefined ? {} : { startedAt: minute(startedAt, task) }),
      });
    }
    if (happening.kind === "not-started") {
      const { task, notBefore } = happening;
      // Whatever was said before of how far it was, and what comes after it, is taken back.
      reports.delete(task);
      if (reports.size > 0) for (const { id } of tasksAfter(index.day.inForce, task)) reports.delete(id);
      if (notBefore === undefined && dealtWith.has(task)) continue;
      reports.set(task, {
        notBefore: notBefore === undefined ? (index.at ?? 0) : minute(notBefore, task),
        told: i,
      });
      waiting.push(task);
    }
  }
  for (const task of waiting) if (hasGoneOnSince(index.day.inForce, task, reports)) reports.delete(task);
  return reports;
}

/** What comes after a task: in its load, and after a mix in all loads of its batch. */
function tasksAfter(inForce: Timetable | undefined, id: string): readonly Task[] {
  const { chains, mixes, loadsOfBatch } = inForceOf(inForce);
  for (const [batch, mix] of mixes)
    if (mix.id === id) return (loadsOfBatch.get(batch) ?? []).flatMap((load) => chains.get(load.id) ?? []);
  for (const chain of chains.values()) {
    const at = chain.findIndex((task) => task.id === id);
    if (at >= 0) return chain.slice(at + 1);
  }
  return [];
}

/** Was it told of a later step, after a task was told not to have started, that it has begun? Then the task has as well. */
function hasGoneOnSince(inForce: Timetable | undefined, id: string, reports: ReadonlyMap<string, Report>): boolean {
  const own = reports.get(id);
  if (own?.notBefore === undefined) return false;
  return tasksAfter(inForce, id).some((task) => {
    const report = reports.get(task.id);
    return report !== undefined && report.told > own.told && isToldBegun(report);
  });
}

/** Pieces that a load has lost: told of it, and its share of a batch that came out light. */
export interface Loss {
  told: number;
  short: number;
}

/**
 * Pieces lost by load. A light batch lacks its spare dough first, then what its loads lack of it in the timetable in force already, then what is thrown
 * away anyway, then pieces of the loads due last: what a repair has dealt out stays where it is, whomever the loads serve since.
 */
export function lossesOf(index: DayIndex): Map<string, Loss> {
  const losses = new Map<string, Loss>();
  const missing = new Map<string, number>();
  const loads = index.day.inForce?.loads ?? [];
  for (const happening of index.day.happenings.happenings) {
    if (happening.kind === "short-batch")
      missing.set(happening.batch, (missing.get(happening.batch) ?? 0) + happening.missingG);
    if (happening.kind !== "pieces-lost") continue;
    const load = loads.find(({ id }) => id === happening.load);
    if (!load) continue;
    const before = losses.get(load.id)?.told ?? 0;
    losses.set(load.id, { told: Math.min(load.pieces, before + happening.pieces), short: 0 });
  }
  if (missing.size === 0) return losses;
  const due = new Map(index.wants.map((want) => [want.line.id, want.due]));
  const lastDue = (load: Load): number =>
    load.scrapped ? 1 << 29 : Math.max(0, ...load.orders.map(({ line }) => due.get(line) ?? 0));
  for (const batch of index.day.inForce?.batches ?? []) {
    if (!missing.has(batch.id)) continue;
    const own = loads.filter((load) => load.batch === batch.id);
    let missingG = missing.get(batch.id)! - batch.spareG;
    const take = (load: Load, pieces: number): void => {
      const loss = losses.get(load.id) ?? { told: 0, short: 0 };
      losses.set(load.id, loss);
      const taken = Math.max(0, Math.min(load.pieces - loss.told - loss.short, pieces));
      loss.short += taken;
      missingG -= (taken * load.doughG) / load.pieces;
    };
    for (const load of own) take(load, carriedShort(load, losses.get(load.id)?.told ?? 0));
    for (const load of own.sort((a, b) => lastDue(b) - lastDue(a) || (a.id < b.id ? 1 : -1))) {
      if (missingG <= 1e-6) break;
      take(load, Math.ceil((missingG * load.pieces) / load.doughG - 1e-9));
    }
  }
  return losses;
}

/** Pieces that a load of the timetable in force lacks since its batch came out light. */
function carriedShort({ scrapped, shortPieces, lostPieces = 0 }: Load, told: number): number {
  return scrapped ? 0 : (shortPieces ?? Math.max(0, lostPieces - told));
}

/** Batches and loads that were told to be spoiled. */
export function spoiledIds(index: DayIndex): { batches: Set<string>; loads: Set<string> } {
  const batches = new Set<string>();
  const loads = new Set<string>();
  for (const happening of index.day.happenings.happenings) {
    if (happening.kind !== "spoiled") continue;
    if (happening.batch !== undefined) batches.add(happening.batch);
    if (happening.load !== undefined) loads.add(happening.load);
  }
  return { batches, loads };
}
