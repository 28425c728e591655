import type { DayDocuments, Happening, Happenings, Task } from "../../schemas/index.js";
import { formatInstant, resolveWhen, resolveWindow } from "../../solver/calendar.js";
import { isMarked, MARKED, type Mark, minuteOf } from "./mark.js";

/** What stations marked of a day, and when it was asked about: kept with a job, so that asking again gives the same. */
export interface Told {
  readonly marks: readonly Mark[];
  /** Of the timetable in force. */
  readonly version?: number;
  /** RFC 3339. */
  readonly now: string;
}

/** What stands by itself goes on until what follows begins: that it was not marked finished says nothing. */
const STANDING: ReadonlySet<Task["does"]> = new Set(["rest", "retard", "temper", "proof", "cool"]);
/** Work that is over by so much and was never marked finished was forgotten to be marked, most likely. */
const FORGOTTEN_MINUTES = 20;
/** Marks that come in after the window still belong to the day. */
const AFTER_MINUTES = 12 * 60;

type Reports = "started" | "finished" | "running" | "not-started";
const REPORTS: ReadonlySet<Happening["kind"]> = new Set<Reports>(["started", "finished", "running", "not-started"]);

/** What a happening is about. */
function subjectOf(happening: Happening): string {
  const { kind, task, load, batch, unit } = happening as Happening &
    Partial<Record<"task" | "load" | "batch" | "unit", string>>;
  return `${kind} ${task ?? load ?? batch ?? unit ?? ""}`;
}

/** The last word of the stations on one task. */
class Word {
  started: (Happening & { kind: "started" }) | undefined;
  finished: (Happening & { kind: "finished" }) | undefined;
  private others: readonly Happening[] = [];

  add(happening: Happening): void {
    if (happening.kind === "started") {
      this.started = happening;
      this.finished = undefined;
    } else if (happening.kind === "finished") this.finished = happening;
    else {
      // Of how long it takes, or when it can begin, only the last word counts.
      const isReport = REPORTS.has(happening.kind);
      this.others = [...this.others.filter(({ kind }) => !isReport || kind !== happening.kind), happening];
    }
  }

  /** In order of time. `at`: the epoch minute at which things stand so. */
  happenings(task: Task, at: number, zone: string): Happening[] {
    const { started, finished, others } = this;
    if (finished) {
      const isOrdered = started !== undefined && minuteOf(started.at) <= minuteOf(finished.at);
      return [
        ...others.filter(({ kind }) => !REPORTS.has(kind)),
        { ...finished, ...(isOrdered ? { startedAt: started.at } : {}) },
      ];
    }
    // Whoever has begun is no longer waiting to.
    const left = started ? others.filter(({ kind }) => kind !== "not-started") : others;
    if (!started) return [...left];
    const end = minuteOf(started.at) + minuteOf(task.end) - minuteOf(task.start);
    const isOver = at >= end && at - end <= FORGOTTEN_MINUTES && !STANDING.has(task.does);
    const isTold = left.some(({ kind }) => kind === "running");
    const running: Happening = {
      kind: "running",
      task: task.id,
      until: formatInstant(at + 1, zone),
      note: `${MARKED}nobody as finished`,
    };
    return isOver && !isTold ? [started, ...left, running] : [started, ...left];
  }
}

/** Is the task that was marked still this one? A timetable that was drawn up anew may use the same names for others. */
function isSame(mark: Mark, task: Task, version: number | undefined): boolean {
  if (mark.version === undefined || mark.version === version || mark.plannedStart === undefined) return true;
  const now = minuteOf(task.start);
  return now === minuteOf(mark.plannedStart) || (mark.what === "started" && now === minuteOf(mark.at));
}

/**
 * The day with what its stations marked among its happenings, and the instant at which things stand so: the latest that anybody told of, or now when now lies in the
 * day. What a planner wrote of the same thing comes first. A day that nobody marked anything of stays as it is.
 */
export function withMarks(day: DayDocuments, { marks, version, now }: Told): DayDocuments {
  const window = resolveWindow(day.settings, day.network);
  if (!day.inForce || "problem" in window) return day;
  const tasks = new Map(day.inForce.tasks.map((task) => [task.id, task]));
  const zones = new Map(day.network.sites.map((site) => [site.id, site.timeZone]));
  const words = new Map<string, Word>();
  const stored = day.happenings;
  const firstZone = day.network.sites[0]!.timeZone;
  const told = stored.at === undefined ? undefined : resolveWhen(stored.at, firstZone);
  let at = told && "minute" in told ? told.minute : Number.NEGATIVE_INFINITY;
  for (const mark of marks) {
    const task = tasks.get(mark.task);
    const minute = minuteOf(mark.at);
    const isOfDay = minute >= window.fromMinute && minute <= window.toMinute + AFTER_MINUTES;
    if (!task || !mark.happening || mark.setAside || !isOfDay || !isSame(mark, task, version)) continue;
    const word = words.get(task.id) ?? new Word();
    words.set(task.id, word);
    word.add(mark.happening);
    // What began this very minute has begun.
    at = Math.max(at, mark.what === "started" ? minute + 1 : minute);
  }
  if (words.size === 0) return day;
  const current = minuteOf(now);
  if (current >= window.fromMinute && current <= window.toMinute) at = Math.max(at, current);
  const isStale = (happening: Happening): boolean =>
    isMarked(happening) && REPORTS.has(happening.kind) && words.has((happening as { task: string }).task);
  const kept = stored.happenings.filter((happening) => !isStale(happening));
  const known = new Map<string, number>();
  for (const one of kept) known.set(subjectOf(one), (known.get(subjectOf(one)) ?? 0) + 1);
  const fresh = [...words].flatMap(([id, word]) => {
    const task = tasks.get(id)!;
    return word.happenings(task, at, zones.get(task.site) ?? firstZone).filter((one) => {
      const count = known.get(subjectOf(one)) ?? 0;
      // Pieces may be lost twice of one load: each that is written stands for one that was marked.
      if (count > 0 && !REPORTS.has(one.kind)) known.set(subjectOf(one), count - 1);
      return count === 0;
    });
  });
  const happenings: Happenings = { ...stored, at: formatInstant(at, firstZone), happenings: [...kept, ...fresh] };
  return { ...day, happenings };
}
