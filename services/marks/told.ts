import type { DayDocuments, Happening, Happenings, Task } from "../../schemas/index.js";
import { formatInstant, resolveWhen, resolveWindow } from "../../solver/calendar.js";
import { type Contradiction, contradictionsOf } from "../../solver/check/reports.js";
import { AROUND_MINUTES, asBelieved, happeningOf, isMarked, MARKED, type Mark, minuteOf, tasksOf } from "./mark.js";

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
      // A mark that was sent late does not undo the finish that came in before it.
      if (this.finished && minuteOf(happening.at) > minuteOf(this.finished.at)) this.finished = undefined;
    } else if (happening.kind === "finished") this.finished = happening;
    else {
      // Of how long it takes, or when it can begin, only the last word counts.
      const isReport = REPORTS.has(happening.kind);
      this.others = [...this.others.filter(({ kind }) => !isReport || kind !== happening.kind), happening];
    }
  }

  /** Does it say how far the task is? */
  get isReport(): boolean {
    return (
      this.started !== undefined || this.finished !== undefined || this.others.some(({ kind }) => REPORTS.has(kind))
    );
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
    const longer = left.find((one): one is Happening & { kind: "running" } => one.kind === "running");
    const planned = minuteOf(started.at) + minuteOf(task.end) - minuteOf(task.start);
    const end = longer ? minuteOf(longer.until) : planned;
    const isOver = at >= end && at - end <= FORGOTTEN_MINUTES && !STANDING.has(task.does);
    const running: Happening = {
      kind: "running",
      task: task.id,
      until: formatInstant(at + 1, zone),
      note: `${MARKED}nobody as finished`,
    };
    return isOver ? [started, ...left.filter((one) => one !== longer), running] : [started, ...left];
  }
}

/**
 * When the task may have been planned to begin while it was this one: as it is now, and as it was before a start that was marked was put in force.
 * `marks`: all of the task, in order, whether they count or not.
 */
function startsOf(marks: readonly Mark[], task: Task): ReadonlySet<number> {
  const starts = new Set([minuteOf(task.start)]);
  for (const { what, at, plannedStart } of [...marks].reverse()) {
    if (plannedStart === undefined || what === "trouble") continue;
    // Of what was only marked as finished the start is not known: before it was, if it was planned for later.
    const start = what === "started" ? minuteOf(at) : minuteOf(at) - 1;
    if (starts.has(start)) starts.add(minuteOf(plannedStart));
  }
  return starts;
}

/** Is the task that was marked still this one? A timetable that was drawn up anew may use the same names for others. */
function isSame(mark: Mark, starts: ReadonlySet<number>, version: number | undefined): boolean {
  if (mark.version === undefined || mark.version === version || mark.plannedStart === undefined) return true;
  return starts.has(minuteOf(mark.plannedStart));
}

/** As far as the station's clock can be believed. */
function believed(mark: Mark, task: Task | undefined, zone: string, window: Window): Mark {
  const now = asBelieved(mark, window);
  if (now === mark || !task) return mark;
  const { happening: _, ...rest } = now;
  const happening = happeningOf(rest, mark.by, task, zone);
  return { ...rest, ...(happening ? { happening } : {}) };
}

interface Window {
  readonly fromMinute: number;
  readonly toMinute: number;
}

/** Of happenings that were put in force, those that no mark bears out any more: others speak of the same now, or theirs were set aside. */
class Stale {
  private readonly aside = new Map<string, number>();
  private readonly counting = new Map<string, number>();
  /** How many of the stored happenings are the same. */
  private readonly left = new Map<string, number>();
  /** Tasks of which every report was set aside. */
  private readonly silent = new Set<string>();

  constructor(
    marks: readonly Mark[],
    private readonly words: ReadonlyMap<string, Word>,
    stored: readonly Happening[],
  ) {
    for (const { happening, setAside, task } of marks) {
      if (!happening) continue;
      const counts = setAside ? this.aside : this.counting;
      counts.set(textOf(happening), (counts.get(textOf(happening)) ?? 0) + 1);
      if (REPORTS.has(happening.kind) && setAside) this.silent.add(task);
    }
    for (const { happening, setAside, task } of marks)
      if (happening && REPORTS.has(happening.kind) && !setAside) this.silent.delete(task);
    for (const one of stored) if (isMarked(one)) this.left.set(textOf(one), (this.left.get(textOf(one)) ?? 0) + 1);
  }

  has(one: Happening): boolean {
    if (!isMarked(one)) return false;
    const text = textOf(one);
    if (REPORTS.has(one.kind)) {
      const { task } = one as { task: string };
      return this.words.get(task)?.isReport === true || this.silent.has(task) || this.aside.has(text);
    }
    const left = this.left.get(text)!;
    // The same may have been marked twice, and once by mistake.
    if (!this.aside.has(text) || left <= (this.counting.get(text) ?? 0)) return false;
    this.left.set(text, left - 1);
    return true;
  }
}

/** Told apart by what it says; that of a finished task may have its start added. */
function textOf(happening: Happening): string {
  const { startedAt: _, ...rest } = happening as Happening & { startedAt?: string };
  return JSON.stringify(rest);
}

/**
 * The day with what its stations marked among its happenings, and the instant at which things stand so: the latest that anybody told of, or now when now lies in the
 * day. What a planner wrote of the same thing comes first. A day that nobody marked anything of stays as it is.
 */
export function withMarks(day: DayDocuments, { marks: heard, version, now }: Told): DayDocuments {
  const window = resolveWindow(day.settings, day.network);
  if (!day.inForce || "problem" in window) return day;
  const tasks = tasksOf(day.inForce);
  const zones = new Map(day.network.sites.map((site) => [site.id, site.timeZone]));
  const firstZone = day.network.sites[0]!.timeZone;
  const marks = heard.map((mark) => believed(mark, tasks.get(mark.task), zones.get(mark.site) ?? firstZone, window));
  const ofTask = new Map<string, Mark[]>();
  for (const mark of marks) {
    const own = ofTask.get(mark.task);
    if (own) own.push(mark);
    else ofTask.set(mark.task, [mark]);
  }
  const starts = new Map<string, ReadonlySet<number>>();
  const words = new Map<string, Word>();
  const stored = day.happenings;
  const told = stored.at === undefined ? undefined : resolveWhen(stored.at, firstZone);
  let at = told && "minute" in told ? told.minute : Number.NEGATIVE_INFINITY;
  for (const mark of marks) {
    const task = tasks.get(mark.task);
    const minute = minuteOf(mark.at);
    const isOfDay = minute >= window.fromMinute && minute <= window.toMinute + AROUND_MINUTES;
    if (!task || !mark.happening || mark.setAside || !isOfDay) continue;
    const known = starts.get(task.id) ?? startsOf(ofTask.get(task.id)!, task);
    starts.set(task.id, known);
    if (!isSame(mark, known, version)) continue;
    const word = words.get(task.id) ?? new Word();
    words.set(task.id, word);
    word.add(mark.happening);
    // What began this very minute has begun.
    at = Math.max(at, mark.what === "started" ? minute + 1 : minute);
  }
  const stale = new Stale(marks, words, stored.happenings);
  const kept = stored.happenings.filter((happening) => !stale.has(happening));
  if (words.size === 0) {
    if (kept.length === stored.happenings.length) return day;
    return { ...day, happenings: { ...stored, happenings: kept } };
  }
  const current = minuteOf(now);
  if (current >= window.fromMinute && current <= window.toMinute) at = Math.max(at, current);
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
  return inAgreement({ ...day, happenings });
}

/** Marks that cannot be true beside others, or beside a planner's word, are left out: nobody could correct them among the happenings. */
function inAgreement(day: DayDocuments): DayDocuments {
  const { happenings } = day.happenings;
  for (const one of contradictionsOf(day)) {
    const left = [one.weaker, one.stronger].find(({ i }) => isMarked(happenings[i]!));
    if (left) return inAgreement({ ...day, happenings: { ...day.happenings, happenings: without(happenings, left) } });
  }
  return day;
}

/** Of a finish only its start is left out, where that is what cannot be. */
function without(happenings: readonly Happening[], { i, field }: Contradiction["weaker"]): Happening[] {
  return happenings.flatMap((one, k): Happening[] => {
    if (k !== i) return [one];
    if (field !== "startedAt") return [];
    const { startedAt: _, ...rest } = one as Happening & { kind: "finished" };
    return [rest];
  });
}
