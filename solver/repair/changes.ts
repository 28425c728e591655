import type {
  Batch,
  Change,
  Changes,
  DayDocuments,
  Load,
  Network,
  OrderChange,
  OrderOutcome,
  Place,
  StationChanges,
  Task,
  Timetable,
  Whereabouts,
} from "../../schemas/index.js";
import { formatInstant, parseInstant } from "../calendar.js";
import { carriedFrom, whatIsCarried } from "../carried.js";
import { indexDay } from "../problem/day-index.js";
import { stationsOf } from "../stations.js";
import { becauseOf } from "./because.js";
import { heatChanges } from "./heat-changes.js";
import { isStandingTask, type Standing, standingOf } from "./standing.js";
import { stoodWarm } from "./warm.js";

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

function stateOf({ state, ready, lateMinutes, shortPieces }: OrderOutcome): NonNullable<OrderChange["before"]> {
  return { state, ...(ready === undefined ? {} : { ready }), lateMinutes, shortPieces };
}

function byLine({ orders }: Timetable): Map<string, OrderOutcome> {
  const found = new Map<string, OrderOutcome>();
  for (const order of orders) found.set(order.line, order);
  return found;
}

function orderChanges(day: DayDocuments, before: Timetable, after: Timetable): OrderChange[] {
  const was = byLine(before);
  const is = byLine(after);
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

const tasksKnown = new WeakMap<Timetable, ReadonlyMap<string, Task>>();

/** Of two with one id the last counts. Kept with the timetable: one in force is compared with many. */
function tasksById(timetable: Timetable): ReadonlyMap<string, Task> {
  let tasks = tasksKnown.get(timetable);
  if (!tasks) {
    tasks = byId(timetable.tasks);
    tasksKnown.set(timetable, tasks);
  }
  return tasks;
}

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

/** Tasks that had begun and are over, as the standing has them. */
function begunIds({ batches }: Standing): Set<string> {
  const begun = new Set<string>();
  for (const batch of batches.values()) {
    begun.add(batch.mix.task.id);
    for (const load of batch.loads) for (const task of load.tasks) if (task.end !== null) begun.add(task.task.id);
  }
  return begun;
}

function inTime(a: Change, b: Change): number {
  return a.inMinutes - b.inMinutes || (a.task < b.task ? -1 : 1);
}

/** Writes down what is different, task by task. */
class ChangeWriter {
  readonly byStation = new Map<string, Change[]>();
  readonly counts: Changes["counts"];
  /** Stations that have something to do from the instant on. */
  readonly busy = new Set<string>();
  private readonly movedLoads = new Set<string>();
  /** Tasks of which something is carried on now: what is carried says so, their new end says nothing more. */
  private readonly left = new Set<string>();
  private readonly loads: ReadonlyMap<string, Load>;
  private readonly batches: ReadonlyMap<string, Batch>;

  /** `at`: the instant, in epoch seconds. */
  constructor(
    private readonly before: Timetable,
    private readonly after: Timetable,
    private readonly at: number,
    private readonly begun: ReadonlySet<string>,
    private readonly scrapped: ReadonlySet<string>,
  ) {
    this.loads = byId(before.loads, after.loads);
    this.batches = byId(before.batches, after.batches);
    this.counts = { moved: 0, movedLoads: 0, added: 0, gone: 0, kept: 0, begun: begun.size };
  }

  write(): void {
    const was = tasksById(this.before);
    let added = 0;
    const olds: (Task | undefined)[] = [];
    for (const task of this.after.tasks) {
      const old = was.get(task.id);
      olds.push(old);
      if (old) continue;
      added++;
      const from = carriedFrom(task);
      if (from !== undefined && tasksById(this.after).has(from)) this.left.add(from);
    }
    for (let i = 0; i < olds.length; i++) {
      const task = this.after.tasks[i]!;
      const old = olds[i];
      const from = old || this.left.size === 0 ? undefined : carriedFrom(task);
      const first = from === undefined ? undefined : tasksById(this.after).get(from);
      if (first) this.carried(first, task);
      else this.compare(old, task);
    }
    // None is gone when all are there still: then the new ones need not be looked up.
    if (this.after.tasks.length - added < was.size) this.noteGone();
    this.counts.movedLoads = this.movedLoads.size;
  }

  private noteGone(): void {
    const is = tasksById(this.after);
    for (const task of this.before.tasks) {
      if (task.does === "clean" || is.has(task.id) || seconds(task.end) <= this.at) continue;
      this.count("gone", task);
      if (stationOf(task) !== null) this.note("gone", task, undefined);
    }
  }

  private compare(old: Task | undefined, task: Task): void {
    const station = seconds(task.end) > this.at ? stationOf(task) : null;
    if (station !== null) this.busy.add(station);
    if (task.does === "clean") return;
    if (task.load !== undefined && this.scrapped.has(task.load)) {
      if (old && !this.begun.has(task.id)) this.note("cut-short", old, task);
      return;
    }
    if (old && (this.begun.has(task.id) || this.left.has(task.id))) return;
    const what = old === task ? null : old ? difference(old, task) : "added";
    this.count(what, task);
    if (what !== null && (WORKED.has(task.does) || isStandingTask(task))) this.note(what, old, task);
  }

  /** One thing to do, though two tasks: what stood or baked in one place goes on in another. */
  private carried(first: Task, rest: Task): void {
    const station = stationOf(rest);
    if (station !== null) this.busy.add(station);
    this.count("carried", rest);
    const moved = whatIsCarried(first, rest);
    this.note("carried", moved.first, moved.rest);
  }

  private count(what: Change["what"] | null, task: Task): void {
    if (!WORKED.has(task.does)) return;
    const { counts } = this;
    if (what === null || what === "other-place" || what === "other-crew" || what === "other-length") counts.kept++;
    else if (what === "added") counts.added++;
    else if (what === "gone" || what === "cut-short") counts.gone++;
    else {
      counts.moved++;
      if (task.load !== undefined) this.movedLoads.add(task.load);
    }
  }

  private note(what: Change["what"], old: Task | undefined, now: Task | undefined): void {
    const task = (now ?? old)!;
    const load = task.load === undefined ? undefined : this.loads.get(task.load);
    const batch = task.batch === undefined ? undefined : this.batches.get(task.batch);
    // Only its end is other: that is when somebody has to do something else than planned.
    const when = what === "other-length" ? "end" : "start";
    // What is carried is lifted out where the first of its places ends.
    const starts = [old, now].flatMap((one) =>
      one ? [seconds(one[what === "carried" && one === old ? "end" : when])] : [],
    );
    const groups = [old, now].flatMap((one) => (one?.crew ? [one.crew.group] : []));
    const change: Change = {
      what,
      task: task.id,
      does: task.does,
      ...(load ? { load: load.id, product: load.product, pieces: load.pieces } : {}),
      ...(batch ? { batch: batch.id, dough: batch.dough } : {}),
      ...(old ? { from: whereabouts(old) } : {}),
      ...(now ? { to: whereabouts(now) } : {}),
      inMinutes: Math.round((Math.min(...starts) - this.at) / 60),
      concerns: [...new Set(groups)],
    };
    // A task that changes station concerns both.
    const stations = new Set([old, now].flatMap((one) => (one ? [stationOf(one)] : [])));
    for (const station of stations) {
      if (station === null) continue;
      const listed = this.byStation.get(station);
      if (listed) listed.push(change);
      else this.byStation.set(station, [change]);
    }
  }
}

function stationChanges(day: DayDocuments, byStation: ReadonlyMap<string, Change[]>): StationChanges[] {
  const order = stationOrder(day.network);
  const stations: StationChanges[] = [];
  for (const [station, changes] of byStation) stations.push({ station, changes: changes.slice().sort(inTime) });
  return stations.sort(
    (a, b) => (order.get(a.station) ?? 1e9) - (order.get(b.station) ?? 1e9) || (a.station < b.station ? -1 : 1),
  );
}

/** Loads that are thrown away now and were not before. */
function newlyScrapped(before: Timetable, after: Timetable): Changes["scrapped"] {
  const thrownBefore = scrappedIds(before);
  const found: Changes["scrapped"] = [];
  for (const { id, product, pieces, scrapped } of after.loads)
    if (scrapped && !thrownBefore.has(id))
      found.push({ load: id, product, pieces, at: scrapped.at, why: scrapped.why });
  return found;
}

/** What a repair changes, by station in the network's order and in order of time. Tasks that had begun are not listed, nor what only follows from others. */
export function changesOf(day: DayDocuments, before: Timetable, after: Timetable): Changes {
  const index = indexDay(day);
  const standing = standingOf(index);
  const at = (index.origin + standing.at) * 60;
  const writer = new ChangeWriter(before, after, at, begunIds(standing), scrappedIds(after));
  writer.write();
  const { byStation, counts, busy } = writer;
  const warm = stoodWarm(day, after);
  return {
    format: "changes/1",
    at: formatInstant(index.origin + standing.at, day.network.sites[0]!.timeZone),
    same: before === after,
    counts,
    stations: stationChanges(day, byStation),
    heat: heatChanges(before, after, at),
    orders: before === after ? [] : orderChanges(day, before, after),
    scrapped: newlyScrapped(before, after),
    ...(warm.length > 0 ? { warm } : {}),
    unchanged: [...busy].filter((station) => !byStation.has(station)).sort(),
  };
}

const ordersKnown = new WeakMap<Network, ReadonlyMap<string, number>>();

/** Stations in the order in which dough meets them, site by site. */
function stationOrder(network: Network): ReadonlyMap<string, number> {
  let order = ordersKnown.get(network);
  if (!order) {
    const ids = network.sites.flatMap((site) =>
      [...stationsOf(site), { id: "van" }].map(({ id }) => `${site.id}/${id}`),
    );
    order = new Map(ids.map((id, i) => [id, i]));
    ordersKnown.set(network, order);
  }
  return order;
}
