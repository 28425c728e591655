import { LpBuilder } from "../lp/model.js";
import type { SearchModel } from "../search/model.js";

export type Entries = [column: number, value: number][];

export const NO_LOWER = Number.NEGATIVE_INFINITY;
export const NO_UPPER = Number.POSITIVE_INFINITY;

/** Adds to the entries of a step, which may be the first. */
export function push(steps: Entries[], step: number, column: number, value: number): void {
  const entries = steps[step];
  if (entries) entries.push([column, value]);
  else steps[step] = [[column, value]];
}

/** What all parts of a linear program share: its columns and rows, the steps of time, and what is used in each of them. */
export class Frame {
  readonly builder = new LpBuilder();
  readonly model: SearchModel;
  /** Length of a step, minutes. */
  readonly step: number;
  readonly steps: number;
  private readonly lines = new Map<string, Entries[]>();

  constructor(model: SearchModel, step: number) {
    this.model = model;
    this.step = step;
    this.steps = Math.ceil(model.horizon / step);
  }

  /** A column adds so much to a line in a step. */
  add(line: string, step: number, column: number, value: number): void {
    let steps = this.lines.get(line);
    if (!steps) {
      steps = [];
      this.lines.set(line, steps);
    }
    push(steps, step, column, value);
  }

  /** A column uses `amount` of a line for so many minutes: it adds amount x minutes to each step. */
  use(line: string, column: number, from: number, minutes: number, amount = 1): void {
    const { step } = this;
    for (let t = from; t < from + minutes; ) {
      const at = Math.floor(t / step);
      const end = Math.min(from + minutes, (at + 1) * step);
      this.add(line, at, column, amount * (end - t));
      t = end;
    }
  }

  at(line: string, step: number): Entries {
    return this.lines.get(line)?.[step] ?? [];
  }

  /** Minutes of the step, times what a row has free in each. */
  capacityIn(step: number, row: number, perMinute: (capacity: number, minute: number) => number): number {
    const { horizon, capacity } = this.model;
    let sum = 0;
    for (let t = step * this.step; t < Math.min(horizon, (step + 1) * this.step); t++)
      sum += perMinute(Math.max(0, capacity[row * horizon + t]!), t);
    return sum;
  }
}
