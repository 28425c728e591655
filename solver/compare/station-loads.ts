import type { DayDocuments, Site, StationLoad, Task, Timetable } from "../../schemas/index.js";
import { formatInstant } from "../calendar.js";
import { PoolBook } from "../network/pools.js";
import { type DayIndex, indexDay } from "../problem/day-index.js";

const HOUR = 60;
type Station = StationLoad["station"];

/** What is there of a station at each minute, in the unit in which its use is counted. */
function thereOf(book: PoolBook, site: Site, station: Station): Float64Array {
  const units = (list: readonly { readonly id: string }[], amount: (unit: never) => number) =>
    book.unitLine(list.map((unit) => ({ unit: `${site.id}/${unit.id}`, amount: amount(unit as never) })));
  switch (station) {
    case "mixers":
      return units(site.mixers, () => 1);
    case "benches":
      return units(site.benches, (bench: Site["benches"][number]) => bench.places);
    case "kettles":
      return units(site.kettles, () => 1);
    case "proofers":
      return units(site.proofers, (proofer: Site["proofers"][number]) => proofer.positions);
    case "racks":
      return units(site.racks, (rack: Site["racks"][number]) => rack.positions);
    case "decks":
      return book.unitLine(
        site.ovens.flatMap((oven) =>
          oven.decks.map((deck) => ({ unit: `${site.id}/${oven.id}/${deck.id}`, amount: 1 })),
        ),
      );
    case "shelves":
      return book.unitLine(
        site.fridges.flatMap((fridge) =>
          fridge.shelves.map((shelf) => ({ unit: `${site.id}/${fridge.id}/${shelf.id}`, amount: 1 })),
        ),
      );
    case "people": {
      const line = new Float64Array(book.index.horizon);
      for (const group of site.crew) {
        const heads = book.heads(site, group.id);
        for (let t = 0; t < line.length; t++) line[t] = line[t]! + heads[t]!;
      }
      return line;
    }
  }
}

/** Unit, or shelf, or nothing: what a task keeps busy of a station, and how much of it. */
function usesOf(task: Task, station: Station): { unit: string; amount: number; minutes?: number }[] {
  const { does, unit, places = [], crew } = task;
  if (station === "people")
    return crew ? [{ unit: "", amount: crew.heads, ...(crew.minutes ? { minutes: crew.minutes } : {}) }] : [];
  if (station === "mixers" && does === "mix" && unit) return [{ unit, amount: 1 }];
  if (station === "kettles" && does === "boil" && unit) return [{ unit, amount: 1 }];
  if (station === "benches" && crew && (does === "shape" || does === "top" || does === "pack"))
    return [{ unit: "", amount: crew.heads }];
  if (station === "proofers" && does === "proof") return [{ unit: "", amount: places.length }];
  if (station === "racks" && does === "cool") return [{ unit: "", amount: places.length }];
  if (station === "decks" && does === "bake" && unit) return [{ unit, amount: 1 }];
  if (station === "shelves" && does === "retard")
    return [...new Set(places.map((place) => place.unit))].map((shelf) => ({ unit: shelf, amount: 1 }));
  return [];
}

const STATIONS: readonly Station[] = [
  "mixers",
  "people",
  "benches",
  "shelves",
  "proofers",
  "kettles",
  "decks",
  "racks",
];

/** How busy each station of each site is, hour by hour: decks, kettles, mixers and shelves by whether anything is on them, all else by places. */
export function stationLoads(day: DayDocuments, timetable: Timetable): StationLoad[] {
  const index = indexDay(day);
  const book = new PoolBook(index);
  return day.network.sites.flatMap((site) => {
    const tasks = timetable.tasks.filter((task) => task.site === site.id);
    return STATIONS.flatMap((station): StationLoad[] => {
      const there = thereOf(book, site, station);
      if (!there.some((amount) => amount > 0)) return [];
      const hours = shares(index, there, tasks, station);
      return [
        {
          site: site.id,
          station,
          from: formatInstant(index.origin, site.timeZone),
          hours,
          busiest: Math.max(0, ...hours),
        },
      ];
    });
  });
}

function shares(index: DayIndex, there: Float64Array, tasks: readonly Task[], station: Station): number[] {
  const used = new Float64Array(index.horizon);
  // Several loads on one deck, or containers on one shelf, keep it busy once.
  const byUnit = new Map<string, Uint8Array>();
  for (const task of tasks) {
    const start = Math.round(Date.parse(task.start) / 60_000) - index.origin;
    const end = Math.round(Date.parse(task.end) / 60_000) - index.origin;
    for (const { unit, amount, minutes } of usesOf(task, station)) {
      const to = minutes === undefined ? end : Math.min(end, start + minutes);
      if (unit === "") {
        for (let t = Math.max(0, start); t < Math.min(index.horizon, to); t++) used[t] = used[t]! + amount;
        continue;
      }
      const busy = byUnit.get(unit) ?? new Uint8Array(index.horizon);
      byUnit.set(unit, busy);
      busy.fill(1, Math.max(0, start), Math.min(index.horizon, to));
    }
  }
  for (const busy of byUnit.values()) for (let t = 0; t < busy.length; t++) used[t] = used[t]! + busy[t]!;
  return Array.from({ length: Math.ceil(index.horizon / HOUR) }, (_, hour) => {
    let use = 0;
    let room = 0;
    for (let t = hour * HOUR; t < Math.min(index.horizon, (hour + 1) * HOUR); t++) {
      use += used[t]!;
      room += there[t]!;
    }
    return room > 0 ? Math.round((use / room) * 1000) / 1000 : 0;
  });
}
