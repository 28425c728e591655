import type { DayDocuments, Happening, Issue } from "../../schemas/index.js";
import { validateDocument } from "../../schemas/validate.js";
import { formatInstant, resolveWhen } from "../../solver/calendar.js";
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

/** The happenings that the options tell of. `day`: of which `at` is an instant. */
export function toldHappenings(options: ToldOptions, at: string, day: DayDocuments): Happening[] {
  const { inForce } = day;
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
    // With the time: told again later, it has still not started.
    ...options.waiting.map((task): Happening => ({ kind: "not-started", task, ...notBefore(day, at) })),
    ...options.spoiled.map((id): Happening => {
      const isBatch = inForce?.batches.some((batch) => batch.id === id) ?? false;
      return isBatch ? { kind: "spoiled", batch: id } : { kind: "spoiled", load: id };
    }),
  ];
}

function notBefore({ network }: DayDocuments, at: string): { notBefore?: string } {
  const zone = network.sites[0]!.timeZone;
  const resolved = resolveWhen(at, zone);
  return "minute" in resolved ? { notBefore: formatInstant(resolved.minute, zone) } : {};
}

/** A day folder with the timetable in force from a file, and what the command line tells of; or all that is wrong with it. */
export async function readMorning(
  folder: string,
  timetable: string | undefined,
  options: ToldOptions,
  more: (at: string) => Happening[] = () => [],
  atOf: (day: DayDocuments) => string | undefined = () => undefined,
): Promise<{ day: DayDocuments } | { issues: Issue[] }> {
  const [read, table] = await Promise.all([
    readDayFolder(folder),
    timetable === undefined ? undefined : readTimetable(timetable),
  ]);
  const issues = [...("issues" in read ? read.issues : []), ...(table && "issues" in table ? table.issues : [])];
  if ("issues" in read || (table && "issues" in table)) return { issues };
  const { day } = read;
  const inForce = table?.timetable ?? day.inForce;
  if (!inForce)
    throw new UsageError("There is no timetable in force: give it with --from, or as timetable-in-force.json.");
  const at = options.at ?? day.happenings.at ?? atOf(day);
  if (at === undefined) throw new UsageError("Say with --at when things stand so, for example --at 2026-11-27T05:00.");
  const happenings = [...day.happenings.happenings, ...toldHappenings(options, at, { ...day, inForce }), ...more(at)];
  const told = { ...day.happenings, at, happenings };
  const wrong = validateDocument("happenings", told);
  const morning: DayDocuments = { ...day, inForce, happenings: told };
  const found = wrong.length > 0 ? wrong : checkDay(morning);
  return found.length > 0 ? { issues: found } : { day: morning };
}
