import type { Happening, Task, Timetable } from "../../schemas/index.js";
import { formatInstant, parseInstant } from "../../solver/calendar.js";
import type { DayRecord } from "../days/day.js";
import { type Trouble, troubleIn } from "./trouble.js";

/** What a station says of a task: when it really began or ended, or that something is wrong. */
export interface NewMark {
  readonly task: string;
  readonly what: "started" | "finished" | "trouble";
  /** When it happened, as the station says; it may have been without a line for a while. */
  readonly at: string;
  readonly note?: string;
  readonly trouble?: Trouble;
}

export interface Mark extends NewMark {
  readonly id: string;
  readonly site: string;
  readonly receivedAt: string;
  readonly by: string;
  /** What the station's clock said, where it was ahead of the server's. */
  readonly saidAt?: string;
  /** Of the timetable that was in force. */
  readonly version?: number;
  /** When that had the task begin: tells later whether a task of this name is still the same. */
  readonly plannedStart?: string;
  /** What it means for the day, worked out once, with the timetable that the station saw. None when it says nothing that a repair could use. */
  readonly happening?: Happening;
  /** A planner said that it does not count. */
  readonly setAside?: { readonly at: string; readonly by: string };
}

/** Whose marks: a day made again under a deleted one's id has its own. */
type Marked = Pick<DayRecord, "id" | "life">;

function ofDay({ id, life }: Marked): string {
  return `mark/${id}${life === undefined ? "" : `~${life}`}/`;
}

export const markKeys = {
  mark: (day: Marked, id: string) => `${ofDay(day)}${id}`,
  of: ofDay,
} as const;

/** The epoch minute in which an instant lies. */
export function minuteOf(instant: string): number {
  return Math.floor((parseInstant(instant) ?? Number.NaN) / 60);
}

/** A station's clock may be ahead of the server's by so much. */
const AHEAD_MINUTES = 5;
/** Marks that come in so long before or after the window still belong to the day. */
export const AROUND_MINUTES = 12 * 60;

/**
 * When something was marked, as far as a station can be believed: what is told lies in the past, so a clock that is far ahead of the server's is wrong,
 * and the mark counts as made when it came in. A server whose own clock is nowhere near the day (one that is tried out) has nothing to compare with.
 * `window`: epoch minutes.
 */
export function believedAt(at: string, receivedAt: string, window: { fromMinute: number; toMinute: number }): string {
  const received = minuteOf(receivedAt);
  const isNear = received >= window.fromMinute - AROUND_MINUTES && received <= window.toMinute + AROUND_MINUTES;
  return isNear && minuteOf(at) > received + AHEAD_MINUTES ? receivedAt : at;
}

/** A mark as far as its station's clock can be believed: one that is kept from before clocks were compared, too. */
export function asBelieved<M extends Pick<Mark, "at" | "receivedAt" | "saidAt">>(
  mark: M,
  window: { fromMinute: number; toMinute: number },
): M {
  const at = believedAt(mark.at, mark.receivedAt, window);
  return at === mark.at ? mark : { ...mark, at, saidAt: mark.saidAt ?? mark.at };
}

/** In front of the notes of happenings that stations told of. */
export const MARKED = "marked by ";

/** Was it a station that told of it? */
export function isMarked(happening: Happening): boolean {
  return (happening as { note?: string }).note?.startsWith(MARKED) === true;
}

const MOST_NOTE = 120;

function noteOf(by: string, note: string | undefined): string {
  return `${MARKED}${by}${note === undefined || note === "" ? "" : `: ${note}`}`.slice(0, MOST_NOTE);
}

/** Tasks by id, those of a load with its batch as well. */
export function tasksOf({ tasks, loads }: Timetable): Map<string, Task> {
  const batchOf = new Map(loads.map(({ id, batch }) => [id, batch]));
  return new Map(
    tasks.map((task) => {
      const batch = task.batch ?? batchOf.get(task.load ?? "");
      return [task.id, batch === undefined ? task : { ...task, batch }];
    }),
  );
}

/** A mark as a happening; undefined when it says nothing that a repair could use. `task`: of `tasksOf`; `zone`: of its site. */
export function happeningOf(mark: NewMark, by: string, task: Task, zone: string): Happening | undefined {
  const text = (minute: number): string => formatInstant(minute, zone);
  const minute = minuteOf(mark.at);
  const note = noteOf(by, mark.note);
  if (mark.what !== "trouble") return { kind: mark.what, task: task.id, at: text(minute), note };
  const trouble = mark.trouble ?? troubleIn(mark.note ?? "");
  const { load, batch } = task;
  switch (trouble?.is) {
    case "longer":
      return {
        kind: "running",
        task: task.id,
        until: text(Math.max(minute, minuteOf(task.end)) + trouble.minutes),
        note,
      };
    case "late": {
      const notBefore = text(Math.max(minute, minuteOf(task.start)) + trouble.minutes);
      return { kind: "not-started", task: task.id, notBefore, note };
    }
    case "lost":
      return load === undefined ? undefined : { kind: "pieces-lost", load, pieces: trouble.pieces, note };
    case "spoiled":
      if (load !== undefined) return { kind: "spoiled", load, note };
      return batch === undefined ? undefined : { kind: "spoiled", batch, note };
    case "short":
      return batch === undefined ? undefined : { kind: "short-batch", batch, missingG: trouble.massG, note };
    case "out": {
      const unit = task.unit ?? task.places?.[0]?.unit;
      if (unit === undefined) return undefined;
      const to = trouble.minutes === undefined ? {} : { to: text(minute + trouble.minutes) };
      return { kind: "out-of-service", unit, from: text(minute), ...to, note };
    }
    default:
      return undefined;
  }
}
