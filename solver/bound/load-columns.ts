import type { Operation, SearchModel } from "../search/model.js";
import { type Entries, type Frame, NO_LOWER, push } from "./frame.js";
import type { LoadGroup, Way } from "./groups.js";
import { segmentCosts, startPoints } from "./points.js";
import type { Pool, Pools } from "./pools.js";
import type { Crews, Trips, Units } from "./shared.js";

/** A stage of a chain that the program times: what it takes, and how far before the next stage it starts. */
interface Stage {
  readonly operation: Operation;
  readonly least: number;
  readonly greatest: number;
}

function shortest({ alternatives }: Operation): number {
  return Math.min(...alternatives.map(({ minutes }) => minutes));
}

function longest({ alternatives }: Operation): number {
  return Math.max(...alternatives.map(({ minutes }) => minutes));
}

/** Does the operation have a heater, or a unit that takes one load at a time, for itself? */
function isAlone({ alternatives }: Operation, { heaterOfRow, capacity, horizon }: SearchModel): boolean {
  return alternatives.every(
    ({ row, amount }) =>
      row >= 0 &&
      (heaterOfRow[row]! >= 0 ||
        capacity.subarray(row * horizon, (row + 1) * horizon).every((free) => free < 2 * amount)),
  );
}

/**
 * The stages before the anchor that are timed, the last first: those that have a unit for themselves for some minutes (kettles), and those
 * that may be paid for as overtime. Others were measured to add nothing on the small and medium core instances.
 */
function stagesBefore({ mode }: Way, model: SearchModel): Stage[] {
  const { horizon } = model;
  const stages: Stage[] = [];
  let least = 0;
  let greatest = 0;
  for (let k = mode.anchor - 1; k >= 0; k--) {
    const operation = mode.operations[k]!;
    const hold = mode.holds[k + 1]!;
    least += hold.least + shortest(operation);
    greatest = Math.min(horizon, greatest + hold.greatest + longest(operation));
    const mayBeOvertime = operation.crew?.rows.every((row) => model.overtimeOfRow[row] !== null) ?? false;
    if (shortest(operation) === 0 || !(isAlone(operation, model) || mayBeOvertime)) continue;
    stages.push({ operation, least, greatest });
    least = 0;
    greatest = 0;
  }
  return stages;
}

/**
 * The columns of a program that say when loads are made.
 *
 * A load's minutes in the steps are a piecewise linear function of its start; columns stand for the starts at which that function, or the cost,
 * bends, and any start lies between two of them. Stages before the anchor have columns of their own, tied to the next stage by how many have started:
 * whoever is on the anchor by a minute was on the stage `least` earlier, and is on the anchor `greatest` after the stage.
 */
export class LoadColumns {
  /** By group: the column of those that are not made. */
  readonly unmade: number[] = [];
  /** By group: the pools of its anchors. */
  readonly poolsOf: Pool[][] = [];
  /** By group: columns of starts of the anchor, by step. */
  readonly startsOf: Entries[][] = [];

  constructor(
    private readonly frame: Frame,
    private readonly pools: Pools,
    private readonly units: Units,
    private readonly crews: Crews,
    private readonly trips: Trips,
    private readonly known: number,
  ) {}

  addGroup({ count, dropCost, ways }: LoadGroup): void {
    const { builder } = this.frame;
    const unmade = builder.addColumn({ cost: dropCost, lower: 0, upper: dropCost < this.known ? count : 0 });
    const total: Entries = [[unmade, 1]];
    const alike = new Map<string, { ways: Way[]; starts: Entries[] }>();
    const riders = new Map<number, Entries>();
    for (const way of ways) {
      let same = alike.get(way.upstream);
      if (!same) {
        same = { ways: [], starts: [] };
        alike.set(way.upstream, same);
      }
      same.ways.push(way);
      const columns = this.addAnchor(way, count, same.starts);
      total.push(...columns);
      const { trip, tripAmount } = way.mode;
      const aboard = columns.map(([column]): [number, number] => [column, tripAmount]);
      if (trip >= 0) riders.set(trip, [...(riders.get(trip) ?? []), ...aboard]);
    }
    builder.addRow({ lower: count, upper: count }, total);
    for (const [trip, aboard] of riders) this.trips.ride(trip, aboard, count);
    const used = new Set(ways.map((way) => this.anchorPool(way)));
    for (const pool of used) pool.count += count;
    for (const same of alike.values()) this.addBefore(same.ways, same.starts, count);
    this.unmade.push(unmade);
    const all: Entries[] = [];
    for (const { starts } of alike.values()) {
      starts.forEach((entries, s) => {
        for (const [column, value] of entries) push(all, s, column, value);
      });
    }
    this.startsOf.push(all);
    this.poolsOf.push([...used]);
  }

  private anchorPool({ mode }: Way): Pool {
    const anchor = mode.operations[mode.anchor]!;
    return this.pools.of(anchor.alternatives, shortest(anchor));
  }

  private addAnchor(way: Way, count: number, starts: Entries[]): Entries {
    const { frame } = this;
    const { mode, window, costs } = way;
    const anchor = mode.operations[mode.anchor]!;
    const minutes = shortest(anchor);
    const crew = this.crews.needOf(anchor, minutes);
    const pool = this.anchorPool(way);
    const points = startPoints(window.from, window.to, frame.step, crew ? [minutes, crew.minutes] : [minutes], costs);
    const pointCosts = segmentCosts(points, window.from, frame.step, costs);
    return points.map((t, i) => {
      const column = frame.builder.addColumn({ cost: pointCosts[i]!, lower: 0, upper: count });
      push(starts, Math.floor(t / frame.step), column, 1);
      frame.use(pool.name, column, t, minutes);
      if (crew) frame.use(crew.line, column, t, crew.minutes, crew.heads);
      return [column, 1];
    });
  }

  private addBefore(ways: readonly Way[], anchorStarts: readonly Entries[], count: number): void {
    const stages = stagesBefore(ways[0]!, this.frame.model);
    let from = Math.min(...ways.map(({ window }) => window.from));
    let to = Math.max(...ways.map(({ window }) => window.to));
    let after = stages.length > 0 ? this.runningTotals(anchorStarts, count) : null;
    for (const { operation, least, greatest } of stages) {
      from = Math.max(0, from - greatest);
      to -= least;
      const before = this.runningTotals(this.addStage(operation, from, to, count), count);
      this.follow(after!, before, -least);
      this.follow(before, after!, greatest);
      after = before;
    }
  }

  private addStage(operation: Operation, from: number, to: number, count: number): Entries[] {
    const { frame } = this;
    const starts: Entries[] = [];
    for (const { line, minutes } of this.placesOf(operation, count)) {
      const crew = this.crews.needOf(operation, minutes);
      for (const t of startPoints(from, to, frame.step, crew ? [minutes, crew.minutes] : [minutes], null)) {
        const column = frame.builder.addColumn({ cost: 0, lower: 0, upper: count });
        push(starts, Math.floor(t / frame.step), column, 1);
        if (line !== null) frame.use(line, column, t, minutes);
        if (crew) frame.use(crew.line, column, t, crew.minutes, crew.heads);
      }
    }
    return starts;
  }

  /** Where an operation can be, one entry for each number of minutes and kind of unit. */
  private placesOf({ alternatives }: Operation, count: number): { line: string | null; minutes: number }[] {
    const { heaterOfRow } = this.frame.model;
    const places = new Map<string, { line: string | null; minutes: number }>();
    for (const minutes of new Set(alternatives.map((alternative) => alternative.minutes))) {
      const own = alternatives.filter((alternative) => alternative.minutes === minutes);
      const hot = own.filter(({ row }) => row >= 0 && heaterOfRow[row]! >= 0);
      if (hot.length > 0) {
        const pool = this.pools.of(hot, minutes);
        pool.count += count;
        places.set(`${pool.name} ${minutes}`, { line: pool.name, minutes });
      }
      for (const { row, amount } of own) {
        if (row >= 0 && heaterOfRow[row]! >= 0) continue;
        const line = row < 0 ? null : this.units.lineOf(row, amount);
        places.set(`${line} ${minutes}`, { line, minutes });
      }
    }
    return [...places.values()];
  }

  /** By the end of each step no more of `less` have started than of `more` so many minutes later, and in the end as many. */
  private follow(less: Int32Array, more: Int32Array, minutes: number): void {
    const { step, steps, builder } = this.frame;
    let lastRow = "";
    for (let s = 0; s < steps; s++) {
      const shifted = s === steps - 1 ? s : Math.floor(((s + 1) * step - 1 + minutes) / step);
      const a = less[s]!;
      const b = shifted < 0 ? -1 : more[Math.min(shifted, steps - 1)]!;
      const row = `${a} ${b}`;
      if (a < 0 || row === lastRow) continue;
      lastRow = row;
      builder.addRow(
        { lower: NO_LOWER, upper: 0 },
        b < 0
          ? [[a, 1]]
          : [
              [a, 1],
              [b, -1],
            ],
      );
    }
  }

  /** Columns that stand for how many have started by the end of each step. -1: none yet. */
  private runningTotals(starts: readonly Entries[], count: number): Int32Array {
    const { steps, builder } = this.frame;
    const totals = new Int32Array(steps).fill(-1);
    let previous = -1;
    for (let s = 0; s < steps; s++) {
      const own = starts[s];
      if (own && own.length > 0) {
        const column = builder.addColumn({ cost: 0, lower: 0, upper: count });
        const entries: Entries = [[column, -1], ...own];
        if (previous >= 0) entries.push([previous, 1]);
        builder.addRow({ lower: 0, upper: 0 }, entries);
        previous = column;
      }
      totals[s] = previous;
    }
    return totals;
  }
}
