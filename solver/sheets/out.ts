import type { Load, OrderLine, Rack, Site, Task, VanTrip } from "../../schemas/index.js";
import { linesAsTold } from "../problem/told.js";
import type { Book } from "./book.js";
import { runs } from "./book.js";
import { carriedWords } from "./carries.js";
import { sheetOf } from "./make.js";
import type { Row, Sheet } from "./model.js";

function linesOf(book: Book): ReadonlyMap<string, OrderLine> {
  return new Map(linesAsTold(book.day).map((line) => [line.id, line]));
}

/** "54 line-058 Hotels": who gets what of a load. */
function sharesText(lines: ReadonlyMap<string, OrderLine>, load: Load): string[] {
  const shares = load.orders.map(({ line, pieces }) => {
    const customer = lines.get(line)?.customer;
    return `${pieces} ${customer ?? line}`;
  });
  return load.surplusPieces > 0 ? [...shares, `${load.surplusPieces} over`] : shares;
}

function rackSheet(book: Book, site: Site, rack: Rack): Sheet | null {
  const unit = `${site.id}/${rack.id}`;
  const cools = book.tasks((task) => task.does === "cool" && task.places?.[0]?.unit === unit);
  if (cools.length === 0) return null;
  const lines = linesOf(book);
  const rows = cools.flatMap((task): Row[] => {
    const load = book.load(task.load);
    if (!load) return [];
    const pack = book.taskOfLoad(load.id, "pack");
    const van = book.taskOfLoad(load.id, "van");
    return [
      {
        done: false,
        start: task.start,
        end: task.end,
        what: `${book.what(load)}${carriedWords(book, task).after}`,
        load: load.id,
        positions: runs((task.places ?? []).map(({ position }) => position)),
        pack: pack ? `${book.clock(pack.start, site)} ${pack.unit ? book.unitName(pack.unit) : ""}` : "",
        goes: load.handOver === "baked" && van ? `van ${book.clock(van.start, site)}` : "here",
        shares: sharesText(lines, load).join("; "),
      },
    ];
  });
  return sheetOf(site, {
    kind: "rack",
    name: rack.id,
    title: `Rack and pack: ${rack.name}`,
    subtitle: `${rack.positions} pan positions`,
    from: cools[0]!.start,
    tables: [
      {
        id: "rack",
        columns: [
          { key: "done", title: "", as: "tick" },
          { key: "start", title: "In", as: "clock" },
          { key: "end", title: "Cool by", as: "clock" },
          { key: "what", title: "What", as: "strong" },
          { key: "load", title: "Load", as: "text" },
          { key: "positions", title: "Pos.", as: "text" },
          { key: "pack", title: "Pack", as: "text" },
          { key: "goes", title: "Goes", as: "text" },
          { key: "shares", title: "For", as: "text" },
        ],
        rows,
      },
    ],
    allergens: book.allergensOfLoads(cools.flatMap((task) => book.load(task.load) ?? [])),
    cautions: ["hot-decks"],
  });
}

const AS: Readonly<Record<string, string>> = { tubs: "chilled tubs", pans: "chilled pans", baked: "baked" };

/** Does anything else stand in a task's places between its end and an instant? */
function isTaken(book: Book, { id, end, places }: Task, until: string): boolean {
  const own = new Set((places ?? []).map(({ unit, position }) => `${unit} ${position}`));
  return book.timetable.tasks.some(
    (other) =>
      other.id !== id &&
      book.minute(other.start) <= book.minute(until) &&
      book.minute(other.end) > book.minute(end) &&
      (other.places ?? []).some(({ unit, position }) => own.has(`${unit} ${position}`)),
  );
}

/**
 * Where the packer finds a load. It has a place for as long as it cools or is chilled; from then to the van the timetable has it nowhere, so only what is known of it is
 * said, and no position that something else may stand in by then.
 */
function foundText(book: Book, from: Site, before: readonly Task[], ride: Task): string {
  const last = before.findLast(({ places }) => (places?.length ?? 0) > 0);
  const packed = before.findLast(({ does }) => does === "pack");
  if (packed) {
    const on = packed.unit === undefined ? "" : ` on ${book.unitName(packed.unit)}`;
    return `packed${on} until ${book.clock(packed.end, from)}`;
  }
  if (!last) return "";
  if (book.minute(last.end) >= book.minute(ride.start)) return `take from ${book.places(last)}`;
  const rack = last.places![0]!.unit.split("/").slice(0, 2).join("/");
  const where = isTaken(book, last, ride.start) ? book.unitName(rack) : book.places(last);
  const did = last.does === "cool" ? "cooled" : "stood";
  return `${did} on ${where} until ${book.clock(last.end, from)}`;
}

function vanSheet(book: Book, trip: VanTrip): Sheet | null {
  const run = book.day.network.vanRuns.find(({ id }) => id === trip.run);
  const from = book.sites.get(run?.from ?? "");
  const to = book.sites.get(run?.to ?? "");
  if (!run || !from || !to || trip.loads.length === 0) return null;
  const lines = linesOf(book);
  const loads = trip.loads.flatMap(({ load }) => book.load(load) ?? []);
  const rows = trip.loads.flatMap(({ load: id, positions }): Row[] => {
    const load = book.load(id);
    if (!load) return [];
    const tasks = book.tasksOfLoad(id);
    const ride = tasks.findIndex(({ does }) => does === "van");
    const after = tasks.slice(ride + 1).find(({ places }) => (places?.length ?? 0) > 0);
    return [
      {
        on: false,
        off: false,
        what: book.what(load),
        load: id,
        as: AS[load.handOver ?? ""] ?? "",
        positions,
        from: ride < 0 ? "" : foundText(book, from, tasks.slice(0, ride), tasks[ride]!),
        to: after ? book.places(after) : "",
        shares: sharesText(lines, load).join("; "),
      },
    ];
  });
  const isCold = loads.some(({ handOver }) => handOver === "tubs" || handOver === "pans");
  const used = trip.loads.reduce((sum, { positions }) => sum + positions, 0);
  return sheetOf(from, {
    kind: "van",
    name: trip.id,
    title: `Van: ${run.name}`,
    subtitle: `${from.name} to ${to.name}${run.chilled ? ", chilled van" : ""}`,
    from: book.later(trip.departs, -run.loadMinutes, from),
    facts: [
      { label: "Load from", value: book.later(trip.departs, -run.loadMinutes, from), as: "clock" },
      { label: "Departs", value: trip.departs, as: "clock" },
      {
        label: "Arrives",
        value: `${book.clock(trip.arrives, to)}${to.timeZone === from.timeZone ? "" : ` (${to.timeZone})`}`,
        as: "text",
      },
      { label: "Unloaded by", value: book.clock(book.later(trip.arrives, run.unloadMinutes, to), to), as: "text" },
      { label: "Positions", value: `${used} of ${run.positions}`, as: "text" },
      ...(isCold ? [{ label: "Van measured", value: null, as: "blank" as const }] : []),
    ],
    tables: [
      {
        id: "rides",
        columns: [
          { key: "on", title: "On", as: "tick" },
          { key: "off", title: "Off", as: "tick" },
          { key: "what", title: "What", as: "strong" },
          { key: "load", title: "Load", as: "text" },
          { key: "as", title: "As", as: "text" },
          { key: "positions", title: "Places", as: "count" },
          { key: "from", title: "Where", as: "text" },
          { key: "to", title: "Put on", as: "text" },
          { key: "shares", title: "For", as: "text" },
        ],
        rows,
      },
    ],
    allergens: book.allergensOfLoads(loads),
    cautions: isCold ? ["cold-chain", "lifting"] : [],
  });
}

export function outSheets(book: Book): Sheet[] {
  return [
    ...book.day.network.sites.flatMap((site) => site.racks.flatMap((rack) => rackSheet(book, site, rack) ?? [])),
    ...book.timetable.vans.flatMap((trip) => vanSheet(book, trip) ?? []),
  ];
}
