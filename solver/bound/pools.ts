import type { Alternative, SearchModel } from "../search/model.js";
import type { HeaterKinds } from "./heater-kinds.js";

/** Loads that ask the same of the same heaters: their size on each class that takes them. */
export interface Pool {
  readonly name: string;
  readonly sizes: ReadonlyMap<number, number>;
  /** The shortest stay. */
  shortest: number;
  /** How many loads there are that may ask it. */
  count: number;
}

/** The pools of a linear program. */
export class Pools {
  private readonly byName = new Map<string, Pool>();

  constructor(readonly heaters: HeaterKinds) {}

  /** The pool of an operation's alternatives that are on heaters and take so many minutes. */
  of(alternatives: readonly Alternative[], minutes: number): Pool {
    const sizes = new Map<number, number>();
    for (const { row, amount } of alternatives) {
      const id = this.heaters.classOfRow[row]!;
      sizes.set(id, Math.min(amount, sizes.get(id) ?? amount));
    }
    const name = `pool ${[...sizes].sort(([a], [b]) => a - b).join(" ")}`;
    const known = this.byName.get(name);
    if (known) {
      known.shortest = Math.min(known.shortest, minutes);
      return known;
    }
    const pool = { name, sizes, shortest: minutes, count: 0 };
    this.byName.set(name, pool);
    return pool;
  }

  all(): Pool[] {
    return [...this.byName.values()];
  }
}

/** Rows that some load may take. */
export function usedRows({ rowCount, loads }: SearchModel): Uint8Array {
  const used = new Uint8Array(rowCount);
  for (const { modes } of loads)
    for (const { operations } of modes)
      for (const { alternatives } of operations) for (const { row } of alternatives) if (row >= 0) used[row] = 1;
  return used;
}
