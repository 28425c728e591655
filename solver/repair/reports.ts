import type { Load } from "../../schemas/index.js";
import { resolveWhen } from "../calendar.js";
import type { DayIndex } from "../problem/day-index.js";

/** What was told of a task, in minutes of the window. */
export interface Report {
  readonly startedAt?: number;
  readonly finishedAt?: number;
  readonly until?: number;
  /** It has not started; it cannot before. */
  readonly notBefore?: number;
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
  for (const happening of index.day.happenings.happenings) {
    // A task that is no longer in force: the report has been dealt with.
    if ("task" in happening && siteOf(happening.task as string) === undefined) continue;
    const add = (task: string, report: Report): void => {
      reports.set(task, { ...reports.get(task), ...report });
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
      add(task, { notBefore: notBefore === undefined ? (index.at ?? 0) : minute(notBefore, task) });
    }
  }
  return reports;
}

/** Pieces lost by load: told of it, or its share of a batch that came out light (spare first, then the loads due last). */
export function lossesOf(index: DayIndex): Map<string, number> {
  const lost = new Map<string, number>();
  const { inForce } = index.day;
  const due = new Map(index.wants.map((want) => [want.line.id, want.due]));
  const add = (load: Load, pieces: number): number => {
    const before = lost.get(load.id) ?? 0;
    const taken = Math.min(load.pieces - before, pieces);
    lost.set(load.id, before + taken);
    return taken;
  };
  for (const happening of index.day.happenings.happenings) {
    if (happening.kind === "pieces-lost") {
      const load = inForce?.loads.find((candidate) => candidate.id === happening.load);
      if (load) add(load, happening.pieces);
    }
    if (happening.kind !== "short-batch") continue;
    const batch = inForce?.batches.find((candidate) => candidate.id === happening.batch);
    if (!batch) continue;
    let missingG = happening.missingG - batch.spareG;
    // What is thrown away anyway is missed first.
    const lastDue = (load: Load): number =>
      load.scrapped ? 1 << 29 : Math.max(0, ...load.orders.map(({ line }) => due.get(line) ?? 0));
    const loads = (inForce?.loads ?? []).filter((load) => load.batch === batch.id);
    for (const load of [...loads].sort((a, b) => lastDue(b) - lastDue(a) || (a.id < b.id ? 1 : -1))) {
      if (missingG <= 0) break;
      const pieceG = load.doughG / load.pieces;
      const taken = add(load, Math.ceil(missingG / pieceG - 1e-9));
      missingG -= taken * pieceG;
    }
  }
  return lost;
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
