import type { DayIndex } from "../problem/day-index.js";
import { MILLS } from "../problem/site-rows.js";

export const DEFAULT_MOVE_COST = 3;
export const DEFAULT_NEAR_MINUTES = 60;
/** A move that is about to begin costs so many times what one far ahead does. */
const NEAREST = 4;
/** A move of a minute counts this share of one of SOME minutes or more. */
const LEAST_SHARE = 0.3;
const SOME = 60;

/** What it costs to change a timetable that people already work by, in thousandths of the currency. D23. */
export class Dearness {
  /** No cost at any minute. */
  readonly nothing: Int32Array;
  private readonly tables = new Map<string, Int32Array>();
  private readonly base: number;
  private readonly halving: number;
  private readonly at: number;
  private readonly horizon: number;

  constructor(index: DayIndex, factor: number) {
    const { repair } = index.day.settings;
    this.base = (repair?.moveCost ?? DEFAULT_MOVE_COST) * MILLS * factor;
    this.halving = repair?.nearMinutes ?? DEFAULT_NEAR_MINUTES;
    this.at = index.at ?? 0;
    this.horizon = index.horizon;
    this.nothing = new Int32Array(index.horizon + 1);
  }

  /** Cost of moving something that would begin at a minute: four times as much when that is now. */
  near(minute: number): number {
    const ahead = Math.max(0, minute - this.at);
    return Math.round(this.base * (1 + (NEAREST - 1) * 2 ** (-ahead / this.halving)));
  }

  /** By minute: nothing at home, the more the further away, up to `near`. */
  table(home: number, near: number): Int32Array {
    const key = `${home} ${near}`;
    let table = this.tables.get(key);
    if (!table) {
      const awayFor = (minutes: number): number =>
        Math.round(near * (LEAST_SHARE + ((1 - LEAST_SHARE) * minutes) / SOME));
      table = new Int32Array(this.horizon + 1).fill(awayFor(SOME));
      const last = Math.min(this.horizon, home + SOME);
      for (let t = Math.max(0, home - SOME); t <= last; t++) table[t] = t === home ? 0 : awayFor(Math.abs(t - home));
      this.tables.set(key, table);
    }
    return table;
  }

  otherUnit(near: number): number {
    return Math.round(near / 3);
  }

  /** Another route, site or van. */
  otherWay(near: number): number {
    return near;
  }
}
