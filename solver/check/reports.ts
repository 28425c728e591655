import type { DayDocuments, Happening, Task } from "../../schemas/index.js";
import { resolveWhen } from "../calendar.js";
import { inForceOf } from "../problem/in-force.js";
import type { Check } from "./context.js";

/** People tell of work when they have a hand free: out of order by so much it was told late, and what follows says when it was (D21). */
const LATE_MINUTES = 15;

/** Reports that work has begun. */
const BEGUN: ReadonlySet<Happening["kind"]> = new Set(["started", "finished", "running"]);

/** A time that was told of a task. */
interface Said {
  readonly task: Task;
  /** Epoch minute. */
  readonly minute: number;
  readonly when: string;
  /** Of the happening. */
  readonly i: number;
  readonly field: "at" | "startedAt" | "until" | "notBefore" | "task";
}

/** Two times that cannot both be true. */
export interface Contradiction {
  /** Of the two, what says less: told of the earlier step, or first of one step. */
  readonly weaker: Said;
  readonly stronger: Said;
  readonly message: string;
}

interface Told {
  start?: Said;
  end?: Said;
  until?: Said;
  /** It had not begun; `minute`: when it can, infinity when that was not said. */
  waits?: Said;
}

const AGAINST = "only one of these can be true";

/** Reads reports in their order: of one task the last counts, as long as it is no other by much. */
class Reports {
  readonly found: Contradiction[] = [];
  readonly told = new Map<string, Told>();

  constructor(private readonly day: DayDocuments) {
    const zones = new Map(day.network.sites.map(({ id, timeZone }) => [id, timeZone]));
    const tasks = new Map(day.inForce?.tasks.map((task) => [task.id, task]));
    day.happenings.happenings.forEach((one, i) => {
      if (one.kind !== "started" && one.kind !== "finished" && one.kind !== "running" && one.kind !== "not-started")
        return;
      const task = tasks.get(one.task);
      const zone = zones.get(task?.site ?? "");
      // A ride has the times of its trip.
      if (!task || zone === undefined || task.van !== undefined) return;
      // Who is told not to have begun was not, whatever was said before; who is told to have begun waits no longer.
      const { waits: _, ...told }: Told = (one.kind === "not-started" ? undefined : this.told.get(task.id)) ?? {};
      this.told.set(task.id, told);
      const said = (when: string, field: Said["field"]): Said | undefined => {
        const resolved = resolveWhen(when, zone);
        return "minute" in resolved ? { task, minute: resolved.minute, when, i, field } : undefined;
      };
      if (one.kind !== "not-started") this.read(one, told, said);
      else if (!day.inForce?.notStarted?.includes(task.id) || one.notBefore !== undefined)
        (told as Told).waits =
          one.notBefore === undefined
            ? { task, minute: Number.POSITIVE_INFINITY, when: "", i, field: "task" }
            : said(one.notBefore, "notBefore")!;
    });
  }

  private read(
    one: Happening & { kind: "started" | "finished" | "running" },
    told: Told,
    said: (when: string, field: Said["field"]) => Said | undefined,
  ): void {
    if (one.kind === "running") told.until = said(one.until, "until") ?? told.until!;
    else if (one.kind === "started") told.start = this.last(told.start, said(one.at, "at"), "begun");
    else {
      if (one.startedAt !== undefined) told.start = this.last(told.start, said(one.startedAt, "startedAt"), "begun");
      told.end = this.last(told.end, said(one.at, "at"), "ended");
    }
  }

  private last(before: Said | undefined, now: Said | undefined, what: string): Said {
    if (before && now && Math.abs(now.minute - before.minute) > LATE_MINUTES)
      this.note(before, now, `${now.task.id} is told to have ${what} at ${now.when}, and at ${before.when}`);
    return (now ?? before)!;
  }

  /** `message`: what the two say; who told it where is added. */
  private note(weaker: Said, stronger: Said, message: string): void {
    const first = weaker.i < stronger.i ? weaker : stronger;
    const where = weaker.i === stronger.i ? "" : ` (the other report is /happenings/${first.i})`;
    this.found.push({ weaker, stronger, message: `${message}${where}: ${AGAINST}.` });
  }

  /** Nothing ends before it begins. */
  checkEnds(): void {
    for (const { start, end, until } of this.told.values()) {
      const last = end ?? until;
      if (!start || !last || last.minute >= start.minute) continue;
      const verb = end ? "have ended" : "run until";
      const then = `${start.task.id} is told to ${verb} ${end ? `at ${last.when}` : last.when}, before it began at ${start.when}`;
      if (start.i < last.i) this.note(start, last, then);
      else this.note(last, start, then);
    }
  }

  /** No step begins long after one that comes after it. */
  checkOrder(): void {
    const { chains, loads, mixes } = inForceOf(this.day.inForce);
    const firstOfBatch = new Map<string, Said>();
    for (const [load, chain] of chains) {
      let first: Said | undefined;
      for (let k = chain.length - 1; k >= 0; k--) first = this.before(chain[k]!, first);
      const batch = loads.get(load)?.batch;
      if (!first || batch === undefined) continue;
      const known = firstOfBatch.get(batch);
      if (!known || first.minute < known.minute) firstOfBatch.set(batch, first);
    }
    for (const [batch, first] of firstOfBatch) {
      const mix = mixes.get(batch);
      if (mix) this.before(mix, first);
    }
  }

  private did(said: Said): string {
    const { end, until } = this.told.get(said.task.id) ?? {};
    return until === said ? `runs until ${said.when}` : `${end === said ? "ended" : "began"} at ${said.when}`;
  }

  /** The earliest that was told of a task and of what comes after it. */
  private before(task: Task, after: Said | undefined): Said | undefined {
    const { start, end, until, waits } = this.told.get(task.id) ?? {};
    if (waits && after && waits.i > after.i && waits.minute > after.minute + LATE_MINUTES)
      this.note(
        waits,
        after,
        `${task.id} is told not to have started, but ${after.task.id}, which comes after it, ${this.did(after)}`,
      );
    if (start && after && start.minute > after.minute + LATE_MINUTES) {
      this.note(
        start,
        after,
        `${task.id} is told to have begun at ${start.when}, but ${after.task.id}, which comes after it, ${this.did(after)}`,
      );
    }
    const own = start ?? end ?? until;
    return own && (!after || own.minute < after.minute) ? own : after;
  }
}

/** What reports say of how far work is that cannot be, in the order in which it is found. */
export function contradictionsOf(day: DayDocuments): Contradiction[] {
  if (!day.inForce || !day.happenings.happenings.some(({ kind }) => BEGUN.has(kind))) return [];
  const reports = new Reports(day);
  reports.checkEnds();
  reports.checkOrder();
  return reports.found;
}

/** Reports of how far work is do not contradict each other by more than comes of telling late. */
export const checkReports: Check = (day, findings) => {
  for (const { weaker, stronger, message } of contradictionsOf(day)) {
    const { i, field } = weaker.i > stronger.i ? weaker : stronger;
    findings.add(
      "reports-contradict",
      "happenings",
      `/happenings/${i}/${field}`,
      message,
      "Correct the time that is wrong, or remove its report.",
    );
  }
};
