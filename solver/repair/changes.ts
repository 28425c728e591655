import type {
  Change,
  Changes,
  DayDocuments,
  HeatChange,
  HeatStep,
  OrderChange,
  OrderOutcome,
  Place,
  StationChanges,
  Task,
  Timetable,
  Whereabouts,
} from "../../schemas/index.js";
import { formatInstant, parseInstant } from "../calendar.js";
import { indexDay } from "../problem/day-index.js";
import { stationsOf } from "../stations.js";
import { becauseOf } from "./because.js";
import { isStandingTask, standingOf } from "./standing.js";

const WORKED: ReadonlySet<Task["does"]> = new Set(["mix", "shape", "boil", "top", "bake", "pack", "van"]);

function seconds(instant: string): number {
  return parseInstant(instant) ?? Number.NaN;
}

/** "shelf-3: 1 2, shelf-4: 1" */
export function placesText(task: Task): string | undefined {
  if (!task.places || task.places.length === 0) return undefined;
  const byUnit = new Map<string, number[]>();
  for (const { unit, position } of task.places) {
    const name = unit.split("/").slice(1).join("/");
    byUnit.set(name, [...(byUnit.get(name) ?? []), position]);
  }
  return [...byUnit].map(([unit, positions]) => `${unit}: ${positions.sort((a, b) => a - b).join(" ")}`).join(", ");
}

const stationsKnown = new Map<string, string>();
const MOST_STATIONS = 10_000;

/** A unit without its part. */
function stationOfUnit(unit: string): string {
  let station = stationsKnown.get(unit);
  if (station === undefined) {
    station = unit.split("/").slice(0, 2).join("/");
    if (stationsKnown.size >= MOST_STATIONS) stationsKnown.clear();
    stationsKnown.set(unit, station);
  }
  return station;
}

/** The station at which a task is listed: its unit without the part; null for a step that stands nowhere in particular. */
export function stationOf(task: Task): string | null {
  const unit = task.unit ?? task.places?.[0]?.unit;
  if (unit !== undefined) return stationOfUnit(unit);
  return task.van === undefined ? null : `${task.site}/van`;
}

function whereabouts(task: Task): Whereabouts {
  const places = placesText(task);
  return {
    start: task.start,
    end: task.end,
    ...(task.unit === undefined ? {} : { unit: task.unit }),
    ...(places === undefined ? {} : { places }),
    ...(task.crew === undefined ? {} : { crew: task.crew.group }),
    ...(task.van === undefined ? {} : { van: task.van }),
  };
}

function sameInstant(a: string, b: string): boolean {
  return a === b || seconds(a) === seconds(b);
}

/** Are positions the same? In the same order they are, and need not be written out. */
function samePlaces(a: Task, b: Task): boolean {
  const others = b.places;
  if (a.places === others) return true;
  return areInOrder(a.places ?? [], others ?? []) || placesText(a) === placesText(b);
}

function areInOrder(places: readonly Place[], others: readonly Place[]): boolean {
  if (places.length !== others.length) return false;
  for (let i = 0; i < places.length; i++) {
    const other = others[i]!;
    if (places[i]!.unit !== other.unit || places[i]!.position !== other.position) return false;
  }
  return true;
}

function sameUnit(a: Task, b: Task): boolean {
  return stationOf(a) === stationOf(b) && a.unit === b.unit && a.van === b.van;
}

/** What is different for the people at the station; null when nothing is. */
function difference(before: Task, after: Task): Change["what"] | null {
  const moved = !sameInstant(before.start, after.start);
  const unit = !sameUnit(before, after);
  if (moved && unit) return "moved-and-other-unit";
  if (unit) return "other-unit";
  if (moved) return "moved";
  if (!sameInstant(before.end, after.end)) return "other-length";
  if (before.crew?.group !== after.crew?.group) return "other-crew";
  return samePlaces(before, after) ? null : "other-place";
}

/** Dial and burner from the instant on. */
function heatSteps(timetable: Timetable, unit: string, at: number): HeatStep[] {
  const steps: HeatStep[] = [];
  const oven = timetable.ovenProgram.find((program) => program.deck === unit);
  const kettle = timetable.kettleProgram.find((program) => program.kettle === unit);
  for (const span of [...(oven?.on ?? []), ...(kettle?.on ?? [])]) {
    const first = oven?.setpoints.find((set) => seconds(set.at) === seconds(span.from));
    steps.push({ at: span.from, does: "light", ...(first ? { tempC: first.tempC } : {}) });
    steps.push({ at: span.to, does: "off" });
  }
  const lit = new Set(steps.map((step) => step.at));
  for (const set of oven?.setpoints ?? [])
    if (!lit.has(set.at)) steps.push({ at: set.at, does: "set", tempC: set.tempC });
  return steps.filter((step) => seconds(step.at) >= at).sort((a, b) => seconds(a.at) - seconds(b.at));
}

function heatChanges(before: Timetable, after: Timetable, at: number): HeatChange[] {
  const units = new Set(
    [before, after].flatMap(({ ovenProgram, kettleProgram }) => [
      ...ovenProgram.map(({ deck }) => deck),
      ...kettleProgram.map(({ kettle }) => kettle),
    ]),
  );
  return [...units].sort().flatMap((unit) => {
    const was = heatSteps(before, unit, at);
    const is = heatSteps(after, unit, at);
    return JSON.stringify(was) === JSON.stringify(is) ? [] : [{ unit, before: was, after: is }];
  });
}

function stateOf({ state, ready, lateMinutes, shortPieces }: OrderOutcome): NonNullable<OrderChange["before"]> {
  return { state, ...(ready === undefined ? {} : { ready }), lateMinutes, shortPieces };
}

function orderChanges(day: DayDocuments, before: Timetable, after: Timetable): OrderChange[] {
  const was = new Map(before.orders.map((order) => [order.line, order]));
  const is = new Map(after.orders.map((order) => [order.line, order]));
  const found: OrderChange[] = [];
  for (const order of after.orders) {
    const old = was.get(order.line);
    const isSame =
      old &&
      old.state === order.state &&
      old.lateMinutes === order.lateMinutes &&
      old.shortPieces === order.shortPieces;
    if (isSame && old.pieces === order.pieces) continue;
    found.push({
      line: order.line,
      ...(old ? { before: stateOf(old) } : {}),
      after: stateOf(order),
      ...(order.why ? { why: order.why } : {}),
      because: order.state === "on-time" ? [] : becauseOf(day, after, order.line),
    });
  }
  for (const order of before.orders)
    if (!is.has(order.line)) found.push({ line: order.line, before: stateOf(order), because: [] });
  return found;
}

/** Of two with one id the last counts. */
function byId<T extends { readonly id: string }>(...lists: readonly (readonly T[])[]): Map<string, T> {
  const found = new Map<string, T>();
  for (const list of lists) for (const item of list) found.set(item.id, item);
  return found;
}

function scrappedIds({ loads }: Timetable): Set<string> {
  const ids = new Set<string>();
  for (const { id, scrapped } of loads) if (scrapped) ids.add(id);
  return ids;
}

/** What a repair changes, by station in the network's order and in order of time. Tasks that had begun are not listed, nor what only follows from others. */
export function changesOf(day: DayDocuments, before: Timetable, after: Timetable): Changes {
  const index = indexDay(day);
  const standing = standingOf(index);
  const at = (index.origin + standing.at) * 60;
  const begun = new Set<string>();
  for (const batch of standing.batches.values()) {
    begun.add(batch.mix.task.id);
    for (const load of batch.loads) for (const task of load.tasks) if (task.end !== null) begun.add(task.task.id);
  }
  const was = byId(before.tasks);
  const is = byId(after.tasks);
  const thrownBefore = scrappedIds(before);
  const loads = byId(before.loads, after.loads);
  const batches = byId(before.batches, after.batches);
  const scrapped = scrappedIds(after);
  const byStation = new Map<string, Change[]>();
  const busy = new Set<string>();
  const counts = { moved: 0, movedLoads: 0, added: 0, gone: 0, kept: 0, begun: begun.size };
  const movedLoads = new Set<string>();
  const note = (what: Change["what"], old: Task | undefined, now: Task | undefined): void => {
    const task = (now ?? old)!;
    const load = loads.get(task.load ?? "");
    const batch = batches.get(task.batch ?? "");
    // Only its end is other: that is when somebody has to do something else than planned.
    const when = what === "other-length" ? "end" : "start";
    const starts = [old, now].flatMap((one) => (one ? [seconds(one[when])] : []));
    const groups = [old, now].flatMap((one) => (one?.crew ? [one.crew.group] : []));
    const change: Change = {
      what,
      task: task.id,
      does: task.does,
      ...(load ? { load: load.id, product: load.product, pieces: load.pieces } : {}),
      ...(batch ? { batch: batch.id, dough: batch.dough } : {}),
      ...(old ? { from: whereabouts(old) } : {}),
      ...(now ? { to: whereabouts(now) } : {}),
      inMinutes: Math.round((Math.min(...starts) - at) / 60),
      concerns: [...new Set(groups)],
    };
    // A task that changes station concerns both.
    const stations = new Set([old, now].flatMap((one) => (one ? [stationOf(one)] : [])));
    for (const station of stations) {
      if (station === null) continue;
      const listed = byStation.get(station);
      if (listed) listed.push(change);
      else byStation.set(station, [change]);
    }
  };
  const count = (what: Change["what"] | null, task: Task): void => {
    if (!WORKED.has(task.does)) return;
    if (what === null || what === "other-place" || what === "other-crew" || what === "other-length") counts.kept++;
    else if (what === "added") counts.added++;
    else if (what === "gone" || what === "cut-short") counts.gone++;
    else {
      counts.moved++;
      if (task.load !== undefined) movedLoads.add(task.load);
    }
  };
  for (const task of after.tasks) {
    const old = was.get(task.id);
    const station = stationOf(task);
    if (seconds(task.end) > at && station !== null) busy.add(station);
    if (task.does === "clean" || (old && begun.has(task.id) && !scrapped.has(task.load ?? ""))) continue;
    if (scrapped.has(task.load ?? "")) {
      if (old && !begun.has(task.id)) note("cut-short", old, task);
      continue;
    }
    const what = old ? difference(old, task) : "added";
    count(what, task);
    if (what !== null && (WORKED.has(task.does) || isStandingTask(task))) note(what, old, task);
  }
  for (const task of before.tasks) {
    if (is.has(task.id) || task.does === "clean" || seconds(task.end) <= at) continue;
    count("gone", task);
    if (stationOf(task) !== null) note("gone", task, undefined);
  }
  counts.movedLoads = movedLoads.size;
  const order = stationOrder(day);
  const stations: StationChanges[] = [...byStation]
    .map(([station, changes]) => ({
      station,
      changes: [...changes].sort((a, b) => a.inMinutes - b.inMinutes || (a.task < b.task ? -1 : 1)),
    }))
    .sort((a, b) => (order.get(a.station) ?? 1e9) - (order.get(b.station) ?? 1e9) || (a.station < b.station ? -1 : 1));
  return {
    format: "changes/1",
    at: formatInstant(index.origin + standing.at, day.network.sites[0]!.timeZone),
    same: before === after,
    counts,
    stations,
    heat: heatChanges(before, after, at),
    orders: before === after ? [] : orderChanges(day, before, after),
    scrapped: after.loads.flatMap((load) =>
      load.scrapped && !thrownBefore.has(load.id)
        ? [{ load: load.id, product: load.product, pieces: load.pieces, at: load.scrapped.at, why: load.scrapped.why }]
        : [],
    ),
    unchanged: [...busy].filter((station) => !byStation.has(station)).sort(),
  };
}

/** Stations in the order in which dough meets them, site by site. */
function stationOrder(day: DayDocuments): ReadonlyMap<string, number> {
  const ids = day.network.sites.flatMap((site) =>
    [...stationsOf(site), { id: "van" }].map(({ id }) => `${site.id}/${id}`),
  );
  return new Map(ids.map((id, i) => [id, i]));
}
