import type { DayDocuments, Happening, Happenings, OrderLine, Site } from "../../schemas/index.js";
import { resolveWhen } from "../calendar.js";

/** What is told of tasks, batches and loads of the timetable in force, as things stand at an instant. */
export const OF_TIMETABLE: ReadonlySet<Happening["kind"]> = new Set<Happening["kind"]>([
  "started",
  "finished",
  "running",
  "not-started",
  "spoiled",
  "short-batch",
  "pieces-lost",
  "hold",
]);

/** The order lines as they stand after what happened to them: added, changed, cancelled. D22. */
export function linesAsTold(day: DayDocuments): OrderLine[] {
  const lines = new Map(day.orders.lines.map((line) => [line.id, line]));
  for (const happening of day.happenings.happenings) {
    if (happening.kind === "order-added") lines.set(happening.line.id, happening.line);
    if (happening.kind === "order-cancelled") lines.delete(happening.line);
    if (happening.kind !== "order-changed") continue;
    const line = lines.get(happening.line);
    if (!line) continue;
    const { pieces, due, priority } = happening;
    lines.set(line.id, {
      ...line,
      ...(pieces === undefined ? {} : { pieces }),
      ...(due === undefined ? {} : { due }),
      ...(priority === undefined ? {} : { priority }),
    });
  }
  return [...lines.values()];
}

const OF_ORDERS: ReadonlySet<Happening["kind"]> = new Set(["order-added", "order-changed", "order-cancelled"]);

/** The day with its lines as told and nothing left to be told of them: what whoever edits orders begins with. The day itself when nothing was. */
export function withToldLines<D extends DayDocuments>(day: D): D {
  const { happenings } = day.happenings;
  const others = happenings.filter(({ kind }) => !OF_ORDERS.has(kind));
  if (others.length === happenings.length) return day;
  return {
    ...day,
    orders: { ...day.orders, lines: linesAsTold(day) },
    happenings: { ...day.happenings, happenings: others },
  };
}

/** By trip: how many minutes it is late. */
export function tripDelays({ happenings }: Happenings): ReadonlyMap<string, number> {
  const delays = new Map<string, number>();
  for (const happening of happenings) if (happening.kind === "van-late") delays.set(happening.trip, happening.minutes);
  return delays;
}

/** Trips on which something is told to be: a station said so of a ride in force. */
export function loadedTrips({ inForce, happenings }: DayDocuments): ReadonlySet<string> {
  const told = new Set<string>();
  for (const happening of happenings.happenings)
    if (happening.kind === "started" || happening.kind === "finished" || happening.kind === "running")
      told.add(happening.task);
  const trips = new Set<string>();
  if (told.size === 0) return trips;
  for (const { id, van } of inForce?.tasks ?? []) if (van !== undefined && told.has(id)) trips.add(van);
  return trips;
}

/** Epoch minute of the instant at which things stand as told; null when the day has none. */
export function asToldMinute(day: DayDocuments, sites: ReadonlyMap<string, Site>): number | null {
  const { at } = day.happenings;
  if (at === undefined) return null;
  const zone = sites.get(day.network.sites[0]!.id)!.timeZone;
  const resolved = resolveWhen(at, zone);
  if ("problem" in resolved) throw new RangeError(`at "${at}" is ${resolved.problem}; check the day first`);
  return resolved.minute;
}

/** By unit: minutes that work takes there, in percent of what it takes otherwise. */
export function slowness(day: DayDocuments): ReadonlyMap<string, number> {
  const percents = new Map<string, number>();
  for (const happening of day.happenings.happenings)
    if (happening.kind === "slower") percents.set(happening.unit, happening.percent);
  return percents;
}

export function slowed(minutes: number, percent: number | undefined): number {
  return percent === undefined ? minutes : Math.ceil((minutes * percent) / 100 - 1e-9);
}
