import type { Comparison, DayDocuments, LeftOut, Scenario, Side, Timetable } from "../../schemas/index.js";
import { linesAsTold } from "../problem/told.js";
import { changeWords } from "../scenario/index.js";
import { stationLoads } from "./station-loads.js";

export { stationLoads } from "./station-loads.js";

/** Where the pieces of each line are baked. */
function bakedAt(timetable: Timetable): Map<string, string> {
  const sites = new Map<string, Set<string>>();
  for (const load of timetable.loads) {
    for (const { line } of load.orders) {
      const own = sites.get(line) ?? new Set<string>();
      sites.set(line, own.add(load.bakedAt));
    }
  }
  return new Map([...sites].map(([line, own]) => [line, [...own].sort().join(" ")]));
}

/** A drawn-up day as one side of a comparison; `base` is the first side's timetable. */
export function sideOf(
  named: { readonly name: string; readonly changes: readonly string[] },
  day: DayDocuments,
  timetable: Timetable,
  base: Timetable,
): Side {
  const before = bakedAt(base);
  const now = bakedAt(timetable);
  const late = timetable.cost.parts.find((part) => part.for === "late");
  return {
    name: named.name,
    changes: [...named.changes],
    lines: timetable.orders.length,
    linesOnTime: timetable.orders.filter(({ state }) => state === "on-time").length,
    linesLate: timetable.orders.filter(({ lateMinutes }) => lateMinutes > 0).length,
    linesShort: timetable.orders.filter(({ shortPieces }) => shortPieces > 0).length,
    pieces: linesAsTold(day).reduce((sum, line) => sum + line.pieces, 0),
    shortPieces: timetable.orders.reduce((sum, { shortPieces }) => sum + shortPieces, 0),
    latePieceMinutes: Math.round(late?.quantity ?? 0),
    cost: timetable.cost,
    linesMoved: [...now].filter(([line, sites]) => before.has(line) && before.get(line) !== sites).length,
    vanTrips: timetable.vans.length,
    loads: stationLoads(day, timetable),
    timetable,
  };
}

/** What a scenario changes, in words. */
export function scenarioWords(day: DayDocuments, scenario: Scenario): string[] {
  return scenario.changes.map((change) => changeWords(day, change));
}

export function comparison(name: string, sides: readonly Side[], leftOut: readonly LeftOut[] = []): Comparison {
  return {
    format: "comparison/1",
    name,
    sides: [...sides] as Comparison["sides"],
    ...(leftOut.length > 0 ? { leftOut: [...leftOut] } : {}),
  };
}
