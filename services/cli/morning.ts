import type { DayDocuments, Happening, Issue, Timetable } from "../../schemas/index.js";
import { validateDocument } from "../../schemas/validate.js";
import { checkDay } from "../../solver/check/index.js";
import { readDayFolder, readTimetable } from "../day-folder.js";
import { UsageError } from "./arguments.js";

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

const CLOCK = /^([01]\d|2[0-3]):[0-5]\d$/;

/** HH:MM is the first such time at or after the instant less half a day: at 05:00, 23:30 is last night and 07:30 this morning. */
export function fullTime(text: string, at: string): string {
  if (!CLOCK.test(text)) return text;
  const zone = /(Z|[+-]\d\d:\d\d)$/.exec(at)?.[0] ?? "";
  const local = at.slice(0, 16);
  const noon = Date.parse(`${local}:00Z`) - 12 * 3600_000;
  const start = new Date(noon).toISOString();
  const sameDay = `${start.slice(0, 10)}T${text}`;
  const chosen =
    sameDay >= start.slice(0, 16) ? sameDay : `${new Date(noon + 86_400_000).toISOString().slice(0, 10)}T${text}`;
  return `${chosen}${zone}`;
}

function pair(text: string, option: string, form: string): [string, string] {
  const at = text.indexOf("=");
  if (at <= 0 || at === text.length - 1) throw new UsageError(`--${option} takes ${form}, not "${text}".`);
  return [text.slice(0, at), text.slice(at + 1)];
}

/** The happenings that the options tell of. */
export function toldHappenings(options: ToldOptions, at: string, inForce: Timetable | undefined): Happening[] {
  const time = (text: string): string => fullTime(text, at);
  return [
    ...options.down.map((text): Happening => {
      const [unit, span] = pair(text, "down", "UNIT=FROM/TO");
      const [from, to] = span.split("/") as [string, string | undefined];
      return { kind: "out-of-service", unit, from: time(from), ...(to === undefined ? {} : { to: time(to) }) };
    }),
    ...options.started.map((text): Happening => {
      const [task, when] = pair(text, "started", "TASK=INSTANT");
      return { kind: "started", task, at: time(when) };
    }),
    ...options.finished.map((text): Happening => {
      const [task, when] = pair(text, "finished", "TASK=INSTANT");
      return { kind: "finished", task, at: time(when) };
    }),
    ...options.running.map((text): Happening => {
      const [task, when] = pair(text, "running", "TASK=INSTANT");
      return { kind: "running", task, until: time(when) };
    }),
    ...options.waiting.map((task): Happening => ({ kind: "not-started", task })),
    ...options.spoiled.map((id): Happening => {
      const isBatch = inForce?.batches.some((batch) => batch.id === id) ?? false;
      return isBatch ? { kind: "spoiled", batch: id } : { kind: "spoiled", load: id };
    }),
  ];
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
  more: (at: string) => Happening[],
  atOf: (day: DayDocuments) => string | undefined,
): ReadDay {
  const at = options.at ?? day.happenings.at ?? atOf(day);
  if (at === undefined) throw new UsageError("Say with --at when things stand so, for example --at 2026-11-27T05:00.");
  const happenings = [...day.happenings.happenings, ...toldHappenings(options, at, day.inForce), ...more(at)];
  const told = { ...day.happenings, at, happenings };
  const wrong = validateDocument("happenings", told);
  const morning: DayDocuments = { ...day, happenings: told };
  const found = wrong.length > 0 ? wrong : checkDay(morning);
  return found.length > 0 ? { issues: found } : { day: morning };
}

/** A day folder with the timetable in force from a file, and what the command line tells of; or all that is wrong with it. */
export async function readMorning(
  folder: string,
  timetable: string | undefined,
  options: ToldOptions,
  more: (at: string) => Happening[] = () => [],
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
