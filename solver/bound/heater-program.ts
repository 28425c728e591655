import { type Entries, type Frame, NO_LOWER, NO_UPPER, push } from "./frame.js";
import type { HeaterKind } from "./heater-kinds.js";
import { maximalPatterns, plainShares } from "./patterns.js";
import type { Pool } from "./pools.js";

/** The columns of a setpoint of a kind in a step. */
interface RunStep {
  /** Runs that are going on at some instant of the step. */
  readonly going: number;
  /** Steps of time that they last in it, counted in steps. */
  readonly minutes: number;
  /** Runs that begin by lighting, and that end by going out. */
  readonly lit: number;
  readonly out: number;
}

/**
 * When the heaters of a kind are on, at which setpoint, and what lies on them.
 *
 * A run is the time that a heater is kept at one setpoint: from its first load there, to its last, or to the first load of the next run where a
 * change of setpoint ends it. So a gap between loads is paid for like any other minute, and a change costs the minutes that the heater stands empty.
 * In each step: runs going on = those of the step before that have not ended + those begun; a run that neither begins nor ends in the step lasts
 * all of it. At each minute what lies on a deck is one of its patterns (nothing more fits) of one class; over a step that is a mix of them.
 */
export class HeaterProgram {
  /** Columns that say how often heaters of the kind are lit. */
  readonly lit: Entries = [];
  private readonly steps: RunStep[][] = [];
  /** [from * setpoints + to][step]: changes of setpoint. */
  private readonly changes: number[][] = [];
  /** What lies on the decks, by lane and setpoint and step: minutes with something on it. */
  private readonly inUse = new Map<string, { setpoint: number; steps: Entries[] }>();
  private readonly from: number;
  private readonly to: number;

  constructor(
    private readonly frame: Frame,
    private readonly kind: HeaterKind,
    private readonly pools: readonly Pool[],
  ) {
    this.addPatterns();
    let from = frame.steps;
    let to = -1;
    for (const { steps } of this.inUse.values()) {
      steps.forEach((_, s) => {
        from = Math.min(from, s);
        to = Math.max(to, s);
      });
    }
    this.from = from;
    this.to = to;
    if (to < from) return;
    this.addRuns();
    this.addUse();
    this.addEmptyTimes();
  }

  /**
   * Runs at which one of these classes is held: columns of those that go on in a step, and of those that begin in it.
   */
  runsOf(ids: ReadonlySet<number>): { going: Entries[]; begun: Entries[] } {
    const going: Entries[] = [];
    const begun: Entries[] = [];
    const setpoints = new Set(this.kind.classes.flatMap(({ id, setpoint }) => (ids.has(id) ? [setpoint] : [])));
    for (const g of setpoints) {
      this.steps[g]?.forEach((own, s) => {
        push(going, s, own.going, 1);
        push(begun, s, own.lit, 1);
        for (let other = 0; other < this.kind.setpoints; other++) {
          const change = this.changes[other * this.kind.setpoints + g]?.[s];
          if (change !== undefined) push(begun, s, change, 1);
        }
      });
    }
    return { going, begun };
  }

  /** On-times: columns that sum up to those that overlap a step, and to those that begin in it. */
  onTimes(): { going: Entries[]; begun: Entries[] } {
    const going: Entries[] = [];
    const begun: Entries[] = [];
    for (const own of this.steps) {
      own?.forEach((columns, s) => {
        push(going, s, columns.going, 1);
        push(begun, s, columns.lit, 1);
      });
    }
    for (const own of this.changes) {
      own?.forEach((column, s) => {
        push(going, s, column, -1);
      });
    }
    return { going, begun };
  }

  private addPatterns(): void {
    const { frame, kind } = this;
    for (const { id, lane, setpoint, capacity, openMinutes } of kind.classes) {
      const key = `${lane} ${setpoint}`;
      const use = this.inUse.get(key) ?? { setpoint, steps: [] };
      for (let s = 0; s < frame.steps; s++) {
        if (openMinutes[s] === 0 || !kind.isOpen[s]) continue;
        const own = this.pools.filter(({ name, sizes }) => sizes.has(id) && frame.at(name, s).length > 0);
        if (own.length === 0) continue;
        const kinds = own.map(({ sizes, count }) => ({ size: sizes.get(id)!, count }));
        for (const pattern of maximalPatterns(kinds, capacity) ?? plainShares(kinds, capacity)) {
          const column = frame.builder.addColumn({ cost: 0, lower: 0, upper: openMinutes[s]! });
          use.steps[s] ??= [];
          use.steps[s]!.push([column, 1]);
          own.forEach(({ name }, i) => {
            if (pattern[i]! > 0) frame.add(`held ${name}`, s, column, pattern[i]!);
          });
        }
        this.inUse.set(key, use);
      }
    }
  }

  /** No more runs of a setpoint go on in a step, all heaters together: each but the first and the last has a load within the step. */
  private mostRuns(): number {
    const ids = new Set(this.kind.classes.map(({ id }) => id));
    const own = this.pools.filter(({ sizes }) => [...sizes.keys()].some((id) => ids.has(id)));
    const shortest = Math.max(1, Math.min(...own.map((pool) => pool.shortest)));
    return this.kind.count * (2 + Math.floor(this.frame.step / shortest));
  }

  private addRuns(): void {
    const { kind, frame } = this;
    const { builder, step } = frame;
    const { setpoints, costPerMinute, count } = kind;
    const most = this.mostRuns();
    const used = new Set([...this.inUse.values()].map(({ setpoint }) => setpoint));
    for (const g of used) {
      const own: RunStep[] = [];
      for (let s = this.from; s <= this.to; s++) {
        const upper = kind.isOpen[s] ? most : 0;
        own[s] = {
          going: builder.addColumn({ cost: 0, lower: 0, upper }),
          minutes: builder.addColumn({ cost: step * costPerMinute, lower: 0, upper: kind.isOpen[s] ? count : 0 }),
          lit: builder.addColumn({ cost: kind.leadMinutes * costPerMinute, lower: 0, upper }),
          out: builder.addColumn({ cost: 0, lower: 0, upper }),
        };
        this.lit.push([own[s]!.lit, 1]);
      }
      this.steps[g] = own;
    }
    for (const g of used) {
      for (const next of used) {
        if (next === g) continue;
        const own: number[] = [];
        for (let s = this.from; s <= this.to; s++) {
          const upper = kind.isOpen[s] ? most : 0;
          own[s] = builder.addColumn({ cost: kind.changeCost, lower: 0, upper });
        }
        this.changes[g * setpoints + next] = own;
      }
    }
    for (const g of used) this.tieRuns(g, [...used]);
    builder.addRow({ lower: NO_LOWER, upper: count * kind.stretches }, this.lit);
    let before = -1;
    for (let s = this.from; s <= this.to; s++) {
      const on = builder.addColumn({ cost: 0, lower: 0, upper: kind.isOpen[s] ? count : 0, integer: true });
      const change: Entries = [[on, 1]];
      if (before >= 0) change.push([before, -1]);
      for (const g of used) change.push([this.steps[g]![s]!.lit, -1], [this.steps[g]![s]!.out, 1]);
      builder.addRow({ lower: 0, upper: 0 }, change);
      before = on;
      const all = [...used].map((g): [number, number] => [this.steps[g]![s]!.minutes, 1]);
      if (all.length > 1) builder.addRow({ lower: NO_LOWER, upper: count }, all);
    }
  }

  private tieRuns(g: number, used: readonly number[]): void {
    const { setpoints } = this.kind;
    const { builder } = this.frame;
    const others = used.filter((other) => other !== g);
    for (let s = this.from; s <= this.to; s++) {
      const { going, minutes, lit, out } = this.steps[g]![s]!;
      const into = others.map((other): [number, number] => [this.changes[other * setpoints + g]![s]!, 1]);
      const outOf = others.map((other): [number, number] => [this.changes[g * setpoints + other]![s]!, 1]);
      const before = this.steps[g]![s - 1];
      const ended: Entries = before
        ? [
            [before.going, -1],
            [before.out, 1],
            ...others.map((other): [number, number] => [this.changes[g * setpoints + other]![s - 1]!, 1]),
          ]
        : [];
      builder.addRow({ lower: 0, upper: 0 }, [[going, 1], [lit, -1], ...negative(into), ...ended]);
      // Those that neither begin nor end in the step last all of it.
      builder.addRow({ lower: NO_LOWER, upper: 0 }, [
        [going, 1],
        [lit, -1],
        [out, -1],
        ...negative(into),
        ...negative(outOf),
        [minutes, -1],
      ]);
      builder.addRow({ lower: NO_LOWER, upper: 0 }, [
        [minutes, 1],
        [going, -1],
      ]);
    }
  }

  /** What lies on a deck lies there while its run lasts. */
  private addUse(): void {
    const { builder, step } = this.frame;
    for (const { setpoint, steps } of this.inUse.values()) {
      steps.forEach((entries, s) => {
        builder.addRow({ lower: NO_LOWER, upper: 0 }, [...entries, [this.steps[setpoint]![s]!.minutes, -step]]);
      });
    }
  }

  /**
   * A run that ends in a change has stood empty for the minutes of the change. They lie in the step of the change and those right before: a row for each
   * step, and one for all steps.
   */
  private addEmptyTimes(): void {
    const { kind, frame } = this;
    const { setpoints, changeMinutes } = kind;
    for (const { setpoint, steps } of this.inUse.values()) {
      const ends = this.changes.flatMap((columns, at) => {
        const minutes = changeMinutes[at]!;
        return Math.floor(at / setpoints) === setpoint && minutes > 0 ? [{ columns, minutes }] : [];
      });
      if (ends.length === 0) continue;
      const reach = Math.ceil(Math.max(...ends.map(({ minutes }) => minutes)) / frame.step);
      const row = (first: number, last: number, from: number): void => {
        const entries: Entries = [];
        for (let s = first; s <= last; s++) {
          entries.push(...(steps[s] ?? []), [this.steps[setpoint]![s]!.minutes, -frame.step]);
          if (s >= from) for (const { columns, minutes } of ends) entries.push([columns[s]!, minutes]);
        }
        frame.builder.addRow({ lower: NO_LOWER, upper: 0 }, entries);
      };
      row(this.from, this.to, this.from);
      for (let s = this.from; s <= this.to; s++) row(Math.max(this.from, s - reach), s, s);
    }
  }
}

function negative(entries: Entries): Entries {
  return entries.map(([column, value]) => [column, -value]);
}

/** Whoever is on a heater lies in a pattern. */
export function holdPools(frame: Frame, pools: readonly Pool[]): void {
  for (const { name } of pools) {
    for (let s = 0; s < frame.steps; s++) {
      const used = frame.at(name, s);
      if (used.length === 0) continue;
      frame.builder.addRow({ lower: 0, upper: NO_UPPER }, [...frame.at(`held ${name}`, s), ...negative(used)]);
    }
  }
}
