import type { DayDocuments, Happening, OrderLine } from "../../../schemas/index.js";
import { withToldLines } from "../../../solver/problem/told.js";
import { dayText, HOUR, instantText, MINUTE, offsetMs, type Span, wallText } from "./clock.js";
import { whenMs } from "./whens.js";

const DAY = 24 * HOUR;

/** The zone of a site of the day; the first site's for what is no site's. */
export function zoneAt({ network }: DayDocuments, site?: string): string {
  return (network.sites.find(({ id }) => id === site) ?? network.sites[0]!).timeZone;
}

/** The window of time that is planned. */
export function windowOf(day: DayDocuments): Span {
  const { from, to } = day.settings.window;
  const zone = zoneAt(day);
  return { fromMs: whenMs(from, zone) ?? 0, toMs: whenMs(to, zone) ?? 0 };
}

/** YYYY-MM-DD of the day that a window leads up to: the one in which it ends, on the first site's calendar. */
export function dateOf(day: DayDocuments): string {
  return wallText(zoneAt(day), windowOf(day).toMs - MINUTE).slice(0, 10);
}

function utcOf(date: string): number {
  return Date.parse(`${date}T00:00Z`);
}

export function daysBetween(from: string, to: string): number {
  return Math.round((utcOf(to) - utcOf(from)) / DAY);
}

export function dateAfter(date: string, days: number): string {
  return new Date(utcOf(date) + days * DAY).toISOString().slice(0, 10);
}

/** "Sat 28 Nov 2026" */
export function dateText(date: string): string {
  return `${dayText("UTC", utcOf(date))} ${date.slice(0, 4)}`;
}

/**
 * The same time on the zone's clock so many days later. In the night when clocks change: of a time that comes twice the earlier, so that nothing
 * is due later than meant; one that is skipped moves on by what is skipped (D1). Both with their offset.
 */
export function movedWhen(when: string, zone: string, days: number): string {
  const ms = whenMs(when, zone);
  if (ms === undefined) return when;
  const before = wallText(zone, ms);
  const wall = `${dateAfter(before.slice(0, 10), days)}${before.slice(10)}`;
  const asUtc = Date.parse(`${wall}Z`);
  const readings = [asUtc - offsetMs(zone, asUtc - 2 * DAY), asUtc - offsetMs(zone, asUtc + 2 * DAY)];
  const fits = readings.filter((reading) => wallText(zone, reading) === wall);
  return new Set(fits).size === 1 ? wall : instantText(zone, fits.length > 0 ? Math.min(...fits) : readings[0]!);
}

/** What still holds in a later window, whatever became of the day in which it was told. */
function stillHolds(day: DayDocuments, fromMs: number): Happening[] {
  return day.happenings.happenings.filter((happening) => {
    if (happening.kind === "slower") return true;
    if (happening.kind !== "out-of-service" && happening.kind !== "smaller") return false;
    const zone = zoneAt(day, happening.unit.split("/")[0]);
    return happening.to === undefined || (whenMs(happening.to, zone) ?? 0) > fromMs;
  });
}

/** The order lines of a day for another date: due at the same times. */
export function linesFor(day: DayDocuments, date: string): OrderLine[] {
  const days = daysBetween(dateOf(day), date);
  return withToldLines(day).orders.lines.map((line) => ({
    ...line,
    due: movedWhen(line.due, zoneAt(day, line.site), days),
  }));
}

/** Another day of the same kitchen: window and settings as they are, nothing has happened but what is still out of order. */
export function dayFor(kitchen: DayDocuments, date: string, name: string, lines: readonly OrderLine[]): DayDocuments {
  const days = daysBetween(dateOf(kitchen), date);
  const zone = zoneAt(kitchen);
  const { from, to } = kitchen.settings.window;
  const window = { from: movedWhen(from, zone, days), to: movedWhen(to, zone, days) };
  const { network, catalogue } = kitchen;
  const settings = { ...kitchen.settings, name, window };
  const day = { network, catalogue, settings, orders: { format: "orders/1" as const, lines: [...lines] } };
  const happenings = stillHolds(kitchen, whenMs(window.from, zone) ?? 0);
  return { ...day, happenings: { format: "happenings/1", happenings } };
}

/** An id that no day has yet: as wanted, else with a number behind it. */
export function freeId(wanted: string, taken: readonly string[]): string {
  const stem = wanted
    .toLowerCase()
    .normalize("NFKD")
    .replace(/[^a-z0-9]+/g, "-")
    .replace(/^-+|-+$/g, "")
    .slice(0, 56);
  const all = new Set(taken);
  for (let n = 1; ; n++) {
    const id = n === 1 ? stem || "day" : `${stem || "day"}-${n}`;
    if (!all.has(id)) return id;
  }
}

/** How a day is called where days are chosen: a date as a date, anything else as words. */
export function dayName(id: string): string {
  const date = /^\d{4}-\d\d-\d\d/.exec(id)?.[0];
  if (!date || Number.isNaN(utcOf(date))) return id.replace(/-/g, " ");
  return `${dateText(date)} ${id.slice(10).replace(/-/g, " ").trim()}`.trim();
}
