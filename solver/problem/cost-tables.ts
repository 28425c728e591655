import { FORBIDDEN } from "../search/model.js";
import type { DayIndex } from "./day-index.js";
import type { LoadSpec } from "./explode.js";
import { MILLS } from "./site-rows.js";

/** What a load's minute of finish costs, in thousandths, by minute. */
export interface CostTables {
  readonly late: Int32Array;
  readonly early: Int32Array;
  readonly drop: number;
}

/** Whole thousandths, never more than the amount: the bound counts on it. */
function wholeMills(amount: number): number {
  return Math.min(FORBIDDEN, Math.floor(amount + 1e-9));
}

/** The tables of a day's loads; those of loads that serve alike are the same. */
export class CostBook {
  private readonly known = new Map<string, CostTables>();
  private readonly late: Float64Array;
  private readonly early: Float64Array;

  constructor(private readonly index: DayIndex) {
    this.late = new Float64Array(index.horizon + 1);
    this.early = new Float64Array(index.horizon + 1);
  }

  of(load: LoadSpec): CostTables {
    let key = "";
    for (const { want, pieces } of load.portions)
      key += `${want.due} ${pieces} ${want.priority} ${want.freshWithinMinutes}, `;
    let tables = this.known.get(key);
    if (!tables) {
      tables = this.make(load);
      this.known.set(key, tables);
    }
    return tables;
  }

  /** Only the minutes that cost something are gone through: before the last of them early, from the first of them on late. */
  private make(load: LoadSpec): CostTables {
    const { index, late, early } = this;
    const { horizon, weights } = index;
    let drop = 0;
    let firstLate = horizon + 1;
    let lastEarly = -1;
    let lastForbidden = -1;
    late.fill(0);
    early.fill(0);
    for (const { want, pieces } of load.portions) {
      const { due } = want;
      drop += pieces * want.priority * weights.shortPerPiece * MILLS;
      const lateRate = (pieces * want.priority * weights.latePerPieceHour * MILLS) / 60;
      const earlyRate = (pieces * weights.earlyPerPieceHour * MILLS) / 60;
      const after = Math.max(0, due + 1);
      firstLate = Math.min(firstLate, after);
      for (let t = after; t <= horizon; t++) late[t] = late[t]! + (t - due) * lateRate;
      const fresh = Math.min(horizon, due - want.freshWithinMinutes - 1);
      lastForbidden = Math.max(lastForbidden, fresh);
      const free = Math.min(horizon, due - weights.freshForMinutes - 1);
      lastEarly = Math.max(lastEarly, free);
      for (let t = Math.max(0, fresh + 1); t <= free; t++)
        early[t] = early[t]! + (due - t - weights.freshForMinutes) * earlyRate;
    }
    const earlyMills = inMills(early, 0, lastEarly);
    earlyMills.fill(FORBIDDEN, 0, lastForbidden + 1);
    return {
      late: inMills(late, firstLate, horizon),
      early: earlyMills,
      drop: Math.min(FORBIDDEN - 1, wholeMills(drop)),
    };
  }
}

/** Amounts from one minute to another in thousandths; the rest is nothing. */
function inMills(amounts: Float64Array, from: number, to: number): Int32Array {
  const mills = new Int32Array(amounts.length);
  for (let t = from; t <= to; t++) mills[t] = wholeMills(amounts[t]!);
  return mills;
}
