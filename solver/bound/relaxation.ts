import { LpBuilder, type LpModel } from "../lp/model.js";
import type { Operation, SearchModel } from "../search/model.js";
import { groupLoads, type LoadGroup, type Way } from "./groups.js";
import { type HeaterKinds, heaterKinds } from "./heater-kinds.js";
import { maximalPatterns, plainShares } from "./patterns.js";
import { segmentCosts, startPoints } from "./points.js";

type Entries = [column: number, value: number][];

/** Adds to the entries of a step, which may be the first. */
function push(steps: Entries[], step: number, column: number, value: number): void {
  const entries = steps[step];
  if (entries) entries.push([column, value]);
  else steps[step] = [[column, value]];
}

/** Rows by name and step that columns add to while they are made. */
class Lines {
  private readonly lines = new Map<string, Entries[]>();

  add(name: string, step: number, column: number, value: number): void {
    let steps = this.lines.get(name);
    if (!steps) {
      steps = [];
      this.lines.set(name, steps);
    }
    push(steps, step, column, value);
  }

  at(name: string, step: number): Entries {
    return this.lines.get(name)?.[step] ?? [];
  }
}

/** Loads that ask the same of the same heaters: their size on each class that takes them. */
interface Pool {
  readonly name: string;
  readonly sizes: ReadonlyMap<number, number>;
  /** How many loads there are that may ask it. */
  count: number;
}

/**
 * A linear program that every timetable satisfies at no higher cost, so that its optimum is a bound. Time is cut into steps, and what
 * is counted is minutes of use in each step:
 *
 * - A load's minutes in the steps are a piecewise linear function of its start; columns stand for the starts at which that function
 *   bends, and any start lies between two of them.
 * - At each minute what lies on a deck is one of its patterns, of one class; over a step that is a mix of patterns.
 * - A heater is on from its first load to its last; lighting it costs its lead. On-times that begin and end within steps lie between those
 *   that begin and end at their edges.
 * - Loads on a unit right before the anchor (a kettle) use it as early or late before the anchor as their wait allows.
 */
export class Relaxation {
  private readonly builder = new LpBuilder();
  private readonly lines = new Lines();
  private readonly pools = new Map<string, Pool>();
  private readonly heaters: HeaterKinds;
  private readonly steps: number;
  /** Rows of a kind of unit before the anchor: minutes open in each step. */
  private readonly units = new Map<string, { rows: number[]; amount: number }>();
  /** Columns that say how often heaters of each kind are lit. */
  private readonly lit: Entries[] = [];
  private readonly model: SearchModel;
  private readonly step: number;

  constructor(model: SearchModel, stepMinutes: number) {
    this.model = model;
    this.step = stepMinutes;
    this.steps = Math.ceil(model.horizon / stepMinutes);
    this.heaters = heaterKinds(model, stepMinutes);
  }

  build(): LpModel {
    const groups = groupLoads(this.model);
    const unmade = groups.map((group) => this.addGroup(group));
    this.addHeaters();
    groups.forEach((group, g) => {
      this.addOneLit(group, unmade[g]!);
    });
    this.addUnits();
    return this.builder.build();
  }

  /** Returns the column of those that are not made. */
  private addGroup({ count, dropCost, ways }: LoadGroup): number {
    const unmade = this.builder.addColumn({ cost: dropCost, lower: 0, upper: count });
    const total: Entries = [[unmade, 1]];
    for (const way of ways) this.addWay(way, count, total);
    for (const pool of new Set(ways.map(({ mode }) => this.poolOf(mode.operations[mode.anchor]!)))) pool.count += count;
    this.builder.addRow({ lower: count, upper: count }, total);
    return unmade;
  }

  /** If any load of the group is made, one of the heaters that take it is lit once. */
  private addOneLit({ count, ways }: LoadGroup, unmade: number): void {
    const ids = new Set(ways.flatMap(({ mode }) => [...this.poolOf(mode.operations[mode.anchor]!).sizes.keys()]));
    const lit = this.heaters.kinds.flatMap(({ classes }, k) =>
      classes.some(({ id }) => ids.has(id)) ? this.lit[k]! : [],
    );
    this.builder.addRow({ lower: count, upper: Number.POSITIVE_INFINITY }, [
      [unmade, 1],
      ...lit.map(([column]): [number, number] => [column, count]),
    ]);
  }

  private addWay(way: Way, count: number, total: Entries): void {
    const { mode, window, costs } = way;
    const { step } = this;
    const anchor = mode.operations[mode.anchor]!;
    const minutes = Math.min(...anchor.alternatives.map((alternative) => alternative.minutes));
    const pool = this.poolOf(anchor);
    const starts: Entries[] = [];
    const points = startPoints(window.from, window.to, step, [minutes], costs);
    const pointCosts = segmentCosts(points, window.from, step, costs);
    points.forEach((t, i) => {
      const column = this.builder.addColumn({ cost: pointCosts[i]!, lower: 0, upper: count });
      total.push([column, 1]);
      push(starts, Math.floor(t / step), column, 1);
      this.use(pool.name, column, t, minutes);
    });
    if (mode.anchor > 0) this.addBefore(way, count, starts);
  }

  private use(name: string, column: number, from: number, minutes: number): void {
    const { step } = this;
    for (let t = from; t < from + minutes; ) {
      const at = Math.floor(t / step);
      const end = Math.min(from + minutes, (at + 1) * step);
      this.lines.add(name, at, column, end - t);
      t = end;
    }
  }

  private poolOf(anchor: Operation): Pool {
    const sizes = new Map<number, number>();
    for (const { row, amount } of anchor.alternatives) {
      const id = this.heaters.classOfRow[row]!;
      sizes.set(id, Math.min(amount, sizes.get(id) ?? amount));
    }
    const name = `pool ${[...sizes].sort(([a], [b]) => a - b).join(" ")}`;
    const pool = this.pools.get(name) ?? { name, sizes, count: 0 };
    this.pools.set(name, pool);
    return pool;
  }

  /** The unit before the anchor, tied to the anchor by how many have started by each step. */
  private addBefore(way: Way, count: number, anchorStarts: readonly Entries[]): void {
    const { mode, window } = way;
    const operation = mode.operations[mode.anchor - 1]!;
    const hold = mode.holds[mode.anchor]!;
    if (operation.alternatives.some(({ row, minutes }) => row < 0 || minutes === 0)) return;
    const { step } = this;
    const shortest = Math.min(...operation.alternatives.map(({ minutes }) => minutes));
    const longest = Math.max(...operation.alternatives.map(({ minutes }) => minutes));
    const least = shortest + hold.least;
    const greatest = longest + hold.greatest;
    const from = Math.max(0, window.from - greatest);
    const to = window.to - least;
    const starts: Entries[] = [];
    const kinds = new Map<string, { minutes: number; name: string }>();
    for (const { row, amount, minutes } of operation.alternatives) {
      const name = this.unitOf(row, amount);
      kinds.set(`${name} ${minutes}`, { name, minutes });
    }
    for (const { name, minutes } of kinds.values()) {
      for (const t of startPoints(from, to, step, [minutes], null)) {
        const column = this.builder.addColumn({ cost: 0, lower: 0, upper: count });
        push(starts, Math.floor(t / step), column, 1);
        this.use(name, column, t, minutes);
      }
    }
    const before = this.runningTotals(starts, count);
    const after = this.runningTotals(anchorStarts, count);
    // Whoever is on the anchor by a minute was on the unit `least` earlier, and is on the anchor `greatest` after the unit.
    this.follow(after, before, -least);
    this.follow(before, after, greatest);
  }

  /** By the end of each step no more of `less` have started than of `more` so many minutes later, and in the end as many. */
  private follow(less: Int32Array, more: Int32Array, minutes: number): void {
    const { step, steps } = this;
    let lastRow = "";
    for (let s = 0; s < steps; s++) {
      const shifted = s === steps - 1 ? s : Math.floor(((s + 1) * step - 1 + minutes) / step);
      const a = less[s]!;
      const b = shifted < 0 ? -1 : more[Math.min(shifted, steps - 1)]!;
      const row = `${a} ${b}`;
      if (a < 0 || row === lastRow) continue;
      lastRow = row;
      this.builder.addRow(
        { lower: Number.NEGATIVE_INFINITY, upper: 0 },
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
    const totals = new Int32Array(this.steps).fill(-1);
    let previous = -1;
    for (let s = 0; s < this.steps; s++) {
      const own = starts[s];
      if (own && own.length > 0) {
        const column = this.builder.addColumn({ cost: 0, lower: 0, upper: count });
        const entries: Entries = [[column, -1], ...own];
        if (previous >= 0) entries.push([previous, 1]);
        this.builder.addRow({ lower: 0, upper: 0 }, entries);
        previous = column;
      }
      totals[s] = previous;
    }
    return totals;
  }

  private unitOf(row: number, amount: number): string {
    const { horizon, capacity } = this.model;
    const name = `unit ${amount} ${capacity.subarray(row * horizon, (row + 1) * horizon).join()}`;
    const unit = this.units.get(name) ?? { rows: [], amount };
    if (!unit.rows.includes(row)) unit.rows.push(row);
    this.units.set(name, unit);
    return name;
  }

  private addUnits(): void {
    const { horizon, capacity } = this.model;
    for (const [name, { rows, amount }] of this.units) {
      for (let s = 0; s < this.steps; s++) {
        const entries = this.lines.at(name, s);
        if (entries.length === 0) continue;
        let open = 0;
        for (const row of rows) {
          for (let t = s * this.step; t < Math.min(horizon, (s + 1) * this.step); t++)
            open += Math.floor(Math.max(0, capacity[row * horizon + t]!) / amount);
        }
        this.builder.addRow({ lower: Number.NEGATIVE_INFINITY, upper: open }, entries);
      }
    }
  }

  private addHeaters(): void {
    const { step, builder } = this;
    for (const kind of this.heaters.kinds) {
      let before = -1;
      const lit: Entries = [];
      for (let s = 0; s < this.steps; s++) {
        const lanes: Entries[] = [];
        for (const { id, lane, capacity, openMinutes } of kind.classes) {
          const pools = [...this.pools.values()].filter(
            ({ name, sizes }) => sizes.has(id) && this.lines.at(name, s).length > 0,
          );
          if (pools.length === 0 || openMinutes[s] === 0) continue;
          const kinds = pools.map(({ sizes, count }) => ({ size: sizes.get(id)!, count }));
          const patterns = maximalPatterns(kinds, capacity) ?? plainShares(kinds, capacity);
          for (const pattern of patterns) {
            const column = builder.addColumn({ cost: 0, lower: 0, upper: openMinutes[s]! });
            push(lanes, lane, column, 1);
            pools.forEach(({ name }, i) => {
              if (pattern[i]! > 0) this.lines.add(`held ${name}`, s, column, pattern[i]!);
            });
          }
        }
        const on = builder.addColumn({
          cost: step * kind.costPerMinute,
          lower: 0,
          upper: lanes.length > 0 || before >= 0 ? kind.count : 0,
        });
        const start = builder.addColumn({
          cost: kind.leadMinutes * kind.costPerMinute,
          lower: 0,
          upper: kind.count * kind.stretches,
        });
        lit.push([start, 1]);
        const change: Entries = [
          [start, 1],
          [on, -1],
        ];
        if (before >= 0) change.push([before, 1]);
        builder.addRow({ lower: 0, upper: Number.POSITIVE_INFINITY }, change);
        for (const inUse of lanes) {
          if (inUse) builder.addRow({ lower: Number.NEGATIVE_INFINITY, upper: 0 }, [...inUse, [on, -step]]);
        }
        before = on;
      }
      builder.addRow({ lower: Number.NEGATIVE_INFINITY, upper: kind.count * kind.stretches }, lit);
      this.lit.push(lit);
    }
    for (const { name } of this.pools.values()) {
      for (let s = 0; s < this.steps; s++) {
        const used = this.lines.at(name, s);
        if (used.length === 0) continue;
        const held = this.lines.at(`held ${name}`, s);
        builder.addRow({ lower: 0, upper: Number.POSITIVE_INFINITY }, [
          ...held,
          ...used.map(([column, value]): [number, number] => [column, -value]),
        ]);
      }
    }
  }
}
