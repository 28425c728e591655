import type { DayDocuments, Happening, Issue, Timetable } from "../../schemas/index.js";
import { validateDocument } from "../../schemas/validate.js";
import { resolveWhen } from "../../solver/calendar.js";
import { checkDay } from "../../solver/check/index.js";
import { readDayFolder, readTimetable } from "../day-folder.js";
import { UsageError } from "./arguments.js";
import { ClockTimes } from "./clock-times.js";

/** What is told on the command line: when things stand so, and short forms of the commonest happenings. */
export const TOLD = {
  at: {
    kind: "text",
    label: "INSTANT",
    help: "things stand as told then, for example 2026-11-27T05:00 (default: from happenings.json)",
  },
  down: {
    kind: "texts",
    label: "UNIT=FROM/TO",
    help: "out of service; without /TO until further notice; times as HH:MM or in full",
  },
  started: { kind: "texts", label: "TASK=INSTANT", help: "a task really started then" },
  finished: { kind: "texts", label: "TASK=INSTANT", help: "a task really ended then" },
  running: { kind: "texts", label: "TASK=INSTANT", help: "a task is still being done and will end then" },
  waiting: { kind: "texts", label: "TASK", help: "a task has not started, although it was planned to" },
  spoiled: { kind: "texts", label: "ID", help: "a batch or load is thrown away" },
} as const;

export interface ToldOptions {
  readonly at: string | undefined;
  readonly down: readonly string[];
  readonly started: readonly string[];
  readonly finished: readonly string[];
  readonly running: readonly string[];
  readonly waiting: readonly string[];
  readonly spoiled: readonly string[];
}

function pair(text: string, option: string, form: string): [string, string] {
  const at = text.indexOf("=");
  if (at <= 0 || at === text.length - 1) throw new UsageError(`--${option} takes ${form}, not "${text}".`);
  return [text.slice(0, at), text.slice(at + 1)];
}

/** What the times on the command line are about: the clock of the site where the unit or the task is. */
export class Told {
  private readonly day: DayDocuments;
  private readonly inForce: Timetable;
  private readonly times: ClockTimes;

  constructor(day: DayDocuments, inForce: Timetable, times: ClockTimes) {
    this.day = day;
    this.inForce = inForce;
    this.times = times;
  }

  private zoneOf(site: string | undefined): string {
    const { sites } = this.day.network;
    return (sites.find(({ id }) => id === site) ?? sites[0]!).timeZone;
  }

  private zoneOfTask(task: string): string {
    return this.zoneOf(this.inForce.tasks.find(({ id }) => id === task)?.site);
  }

  down(text: string): Happening {
    const [unit, span] = pair(text, "down", "UNIT=FROM/TO");
    const [first, last] = span.split("/") as [string, string | undefined];
    const zone = this.zoneOf(unit.split("/")[0]);
    const from = this.times.told(first, zone);
    return {
      kind: "out-of-service",
      unit,
      from,
      ...(last === undefined ? {} : { to: this.times.endOf(last, from, zone) }),
    };
  }

  /** TASK=INSTANT of what is reported. */
  report(text: string, option: string): { readonly task: string; readonly when: string } {
    const [task, when] = pair(text, option, "TASK=INSTANT");
    return { task, when: this.times.toldOfTask(when, this.zoneOfTask(task)) };
  }

  spoiled(id: string): Happening {
    const isBatch = this.inForce.batches.some((batch) => batch.id === id);
    return isBatch ? { kind: "spoiled", batch: id } : { kind: "spoiled", load: id };
  }

  /** TASK=INSTANT or TASK=INSTANT/UNIT. */
  hold(text: string): Happening {
    const [task, rest] = pair(text, "task", "TASK=INSTANT or TASK=INSTANT/UNIT");
    const [start, ...unit] = rest.split("/");
    return {
      kind: "hold",
      task,
      start: this.times.wished(start!, this.zoneOfTask(task)),
      ...(unit.length > 0 ? { unit: unit.join("/") } : {}),
    };
  }

  /** The happenings that the options tell of. */
  happenings(options: ToldOptions): Happening[] {
    return [
      ...options.down.map((text) => this.down(text)),
      ...options.started.map((text): Happening => {
        const { task, when } = this.report(text, "started");
        return { kind: "started", task, at: when };
      }),
      ...options.finished.map((text): Happening => {
        const { task, when } = this.report(text, "finished");
        return { kind: "finished", task, at: when };
      }),
      ...options.running.map((text): Happening => {
        const { task, when } = this.report(text, "running");
        return { kind: "running", task, until: when };
      }),
      // With the time: told again later, it has still not started.
      ...options.waiting.map(
        (task): Happening => ({ kind: "not-started", task, notBefore: this.times.instant(this.zoneOfTask(task)) }),
      ),
      ...options.spoiled.map((id) => this.spoiled(id)),
    ];
  }
}

/** Do the options tell of anything? */
export function isTold({ at, ...lists }: ToldOptions): boolean {
  return at !== undefined || listsOf(lists).some(([, texts]) => texts.length > 0);
}

/** The options that tell of something as they are typed: with them another command goes by the same news. */
export function toldText({ at, ...lists }: ToldOptions): string {
  const words = (text: string): string => (/^[\w@%+=:,./-]+$/.test(text) ? text : `'${text.replaceAll("'", "'\\''")}'`);
  return [
    ...(at === undefined ? [] : [`--at ${words(at)}`]),
    ...listsOf(lists).flatMap(([name, texts]) => texts.map((text) => `--${name} ${words(text)}`)),
  ].join(" ");
}

function listsOf(options: Omit<ToldOptions, "at">): [name: string, texts: readonly string[]][] {
  const { down, started, finished, running, waiting, spoiled } = options;
  return Object.entries({ down, started, finished, running, waiting, spoiled });
}

type ReadDay = { day: DayDocuments } | { issues: Issue[] };

async function readBoth(folder: string, timetable: string | undefined): Promise<ReadDay> {
  const [read, table] = await Promise.all([
    readDayFolder(folder),
    timetable === undefined ? undefined : readTimetable(timetable),
  ]);
  const issues = [...("issues" in read ? read.issues : []), ...(table && "issues" in table ? table.issues : [])];
  if ("issues" in read || (table && "issues" in table)) return { issues };
  return { day: { ...read.day, ...(table ? { inForce: table.timetable } : {}) } };
}

function withNews(
  day: DayDocuments,
  options: ToldOptions,
  more: (told: Told) => Happening[],
  atOf: (day: DayDocuments) => string | undefined,
): ReadDay {
  const said = options.at ?? day.happenings.at;
  const at = said ?? atOf(day);
  if (at === undefined) throw new UsageError("Say with --at when things stand so, for example --at 2026-11-27T05:00.");
  const stands = resolveWhen(at, day.network.sites[0]!.timeZone);
  if ("problem" in stands && stands.problem === "malformed")
    throw new UsageError(`--at takes a date and time, for example 2026-11-27T05:00, not "${at}".`);
  const morning = (happenings: readonly Happening[]): DayDocuments => ({
    ...day,
    happenings: { ...day.happenings, at, happenings: [...happenings] },
  });
  // A skipped or ambiguous instant: the check says so; times on the clock cannot be told by it.
  if ("problem" in stands) return { issues: checkDay(morning(day.happenings.happenings)) };
  const told = new Told(day, day.inForce!, new ClockTimes(day, stands.minute, said !== undefined));
  const whole = morning([...day.happenings.happenings, ...told.happenings(options), ...more(told)]);
  const wrong = validateDocument("happenings", whole.happenings);
  const found = wrong.length > 0 ? wrong : checkDay(whole);
  return found.length > 0 ? { issues: found } : { day: whole };
}

/** A day folder with the timetable in force from a file, and what the command line tells of; or all that is wrong with it. */
export async function readMorning(
  folder: string,
  timetable: string | undefined,
  options: ToldOptions,
  more: (told: Told) => Happening[] = () => [],
  atOf: (day: DayDocuments) => string | undefined = () => undefined,
): Promise<ReadDay> {
  const read = await readBoth(folder, timetable);
  if ("issues" in read) return read;
  if (!read.day.inForce)
    throw new UsageError("There is no timetable in force: give it with --from, or as timetable-in-force.json.");
  return withNews(read.day, options, more, atOf);
}

/**
 * The same for a timetable that is only to be checked. Without news nothing has to be in force; with them a timetable that nobody says was repaired from another is taken
 * at its word about what has begun.
 */
export async function readAsTold(
  folder: string,
  from: string | undefined,
  options: ToldOptions,
  checked: Timetable,
): Promise<ReadDay> {
  const read = await readBoth(folder, from);
  if ("issues" in read || !isTold(options)) return read;
  const { day } = read;
  return withNews(
    { ...day, inForce: day.inForce ?? checked },
    options,
    () => [],
    () => undefined,
  );
}
