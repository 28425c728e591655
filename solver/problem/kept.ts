import type { Task, Load as TimetableLoad } from "../../schemas/index.js";
import { instantMinute } from "../calendar.js";
import type { Mode, Operation } from "../search/model.js";
import type { DayIndex, Want } from "./day-index.js";
import type { LoadSpec, Portion } from "./explode.js";
import { minutesOf } from "./in-force.js";
import type { MadeMode } from "./modes.js";
import type { RowBook } from "./row-book.js";

/** A batch of the timetable in force that keeps its make-up because something of it is locked. */
export interface KeptBatch {
  readonly id: string;
  readonly dough: string;
  readonly mixSite: string;
  readonly loads: readonly LoadSpec[];
}

/** What the locks of a day keep, and what is left to be made. */
export interface Kept {
  readonly batches: readonly KeptBatch[];
  /** By load or batch id: its locked tasks. */
  readonly locked: ReadonlyMap<string, readonly Task[]>;
  /** By load or batch id: all tasks of the timetable in force that are its own. */
  readonly tasks: ReadonlyMap<string, readonly Task[]>;
  /** Loads of the timetable in force, by id. */
  readonly before: ReadonlyMap<string, TimetableLoad>;
  readonly wants: readonly Want[];
}

/** Tasks of the timetable in force by the load or batch whose they are. */
function tasksByOwner(index: DayIndex, wanted: (task: Task) => boolean): Map<string, Task[]> {
  const byOwner = new Map<string, Task[]>();
  for (const task of index.day.inForce?.tasks ?? []) {
    const owner = task.load ?? task.batch;
    if (owner === undefined || !wanted(task)) continue;
    const own = byOwner.get(owner);
    if (own) own.push(task);
    else byOwner.set(owner, [task]);
  }
  return byOwner;
}

/** Kept loads serve the lines that they served, as far as those still want pieces; the rest is surplus. */
function keepLoad(
  load: TimetableLoad,
  mixSite: string,
  left: Map<string, number>,
  wants: ReadonlyMap<string, Want>,
): LoadSpec {
  const portions: Portion[] = [];
  for (const share of load.orders) {
    const want = wants.get(share.line);
    const pieces = Math.min(share.pieces, left.get(share.line) ?? 0);
    if (!want || pieces <= 0) continue;
    left.set(share.line, left.get(share.line)! - pieces);
    portions.push({ want, pieces });
  }
  return {
    id: load.id,
    product: load.product,
    deliverTo: load.deliveredTo,
    madeAt: portions[0]?.want.line.madeAt,
    mixSite,
    pieces: load.pieces,
    pans: load.pans,
    doughG: load.doughG,
    portions,
  };
}

export function keepLocked(index: DayIndex): Kept {
  const ids = new Set(index.day.happenings.happenings.flatMap((h) => (h.kind === "lock" ? [h.task] : [])));
  const locked = tasksByOwner(index, (task) => ids.has(task.id));
  const before = new Map((index.day.inForce?.loads ?? []).map((load) => [load.id, load]));
  const wants = new Map(index.wants.map((want) => [want.line.id, want]));
  const left = new Map(index.wants.map((want) => [want.line.id, want.pieces]));
  const batches = (index.day.inForce?.batches ?? []).flatMap((batch) => {
    const loads = [...before.values()].filter((load) => load.batch === batch.id);
    if (!locked.has(batch.id) && !loads.some((load) => locked.has(load.id))) return [];
    const kept = loads.map((load) => keepLoad(load, batch.site, left, wants));
    return [{ id: batch.id, dough: batch.dough, mixSite: batch.site, loads: kept }];
  });
  const rest = index.wants
    .map((want) => ({ ...want, pieces: left.get(want.line.id)! }))
    .filter((want) => want.pieces > 0);
  return { batches, locked, tasks: tasksByOwner(index, () => true), before, wants: rest };
}

/** Minute of the window of an instant of the timetable in force. */
export function minuteIn(index: DayIndex, instant: string): number {
  return instantMinute(instant) - index.origin;
}

/** Minute of the window at which a task of the timetable in force starts, and at which it ends. */
export function startIn(index: DayIndex, task: Task): number {
  return minutesOf(task).start - index.origin;
}

export function endIn(index: DayIndex, task: Task): number {
  return minutesOf(task).end - index.origin;
}

function onUnit(book: RowBook, row: number, task: Task): boolean {
  if (row < 0 || task.unit === undefined) return true;
  return book.meanings[row]!.unit === task.unit;
}

function pinned(index: DayIndex, book: RowBook, operation: Operation, task: Task): Operation {
  const start = minuteIn(index, task.start);
  const crew =
    operation.crew && task.crew
      ? { ...operation.crew, rows: operation.crew.rows.filter((row) => book.meanings[row]!.of === task.crew!.group) }
      : operation.crew;
  return {
    alternatives: operation.alternatives.filter((alternative) => onUnit(book, alternative.row, task)),
    crew,
    from: start,
    to: start,
  };
}

/** A mode in which every locked task of the load is where and when it was; null when the mode is not the one in force. */
export function pinMode(
  index: DayIndex,
  book: RowBook,
  made: MadeMode,
  before: TimetableLoad,
  tasks: readonly Task[],
): MadeMode | null {
  const { meaning, mode } = made;
  const trip = index.day.inForce?.vans.find((van) => van.loads.some((share) => share.load === before.id))?.id;
  if (meaning.route.id !== before.route || meaning.bakeSite !== before.bakedAt) return null;
  if ((meaning.handOver ?? undefined) !== before.handOver || (meaning.trip?.id ?? undefined) !== trip) return null;
  const operations = [...mode.operations];
  const holds = [...mode.holds];
  const fix = (k: number, start: number): void => {
    operations[k] = {
      ...operations[k]!,
      from: Math.max(operations[k]!.from, start),
      to: Math.min(operations[k]!.to, start),
    };
  };
  for (const task of tasks) {
    const trace = meaning.steps.find(({ step }) => step.does === task.does);
    if (!trace) continue;
    if (trace.operation >= 0) {
      operations[trace.operation] = pinned(index, book, operations[trace.operation]!, task);
      continue;
    }
    const k = trace.hold;
    const isSecond = task.id.endsWith("-2");
    const isFirst = holds[k]!.ride !== null && !isSecond;
    if (!isFirst) fix(k, minuteIn(index, task.end));
    if (k > 0 && !isSecond) {
      const minutes = operations[k - 1]!.alternatives[0]?.minutes ?? 0;
      fix(k - 1, minuteIn(index, task.start) - minutes);
    }
    const places = (task.places ?? []).map((place) => place.unit);
    if (places.length === 0) continue;
    // Shelves of one fridge that are out at different times are rows of their own; if none has all the places, any of the fridge must do.
    const onUnits = (row: number): boolean =>
      places.some((place) => place.split("/").slice(0, 2).join("/") === book.meanings[row]!.unit);
    const onShelves = (row: number): boolean => {
      const { shelves } = book.meanings[row]!;
      return onUnits(row) && (shelves === undefined || places.every((place) => shelves.includes(place)));
    };
    const isWhereItWas = (rows: Int32Array): ((row: number) => boolean) => (rows.some(onShelves) ? onShelves : onUnits);
    const kept = (rows: Int32Array): Int32Array => rows.filter(isWhereItWas(rows));
    const hold = holds[k]!;
    if (isSecond && hold.ride) holds[k] = { ...hold, ride: { ...hold.ride, rows: kept(hold.ride.rows) } };
    else {
      const fits = isWhereItWas(hold.rows);
      const indexes = [...hold.rows.keys()].filter((i) => fits(hold.rows[i]!));
      const pick = (rows: Int32Array): Int32Array =>
        rows.length > 0 ? Int32Array.from(indexes, (i) => rows[i]!) : rows;
      holds[k] = { ...hold, rows: pick(hold.rows), heatRows: pick(hold.heatRows) };
    }
  }
  const possible = operations.every((operation) => operation.alternatives.length > 0 && operation.from <= operation.to);
  const pinnedMode: Mode = { ...mode, operations, holds };
  return possible ? { mode: pinnedMode, meaning } : null;
}
