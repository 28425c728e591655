import type { Settings } from "../../schemas/index.js";
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

/** What was worked out for the weights of some settings: the same for every repair of a day. */
interface Known {
  readonly horizon: number;
  readonly tables: Map<string, CostTables>;
  readonly lateRamps: Map<string, Int32Array>;
  readonly earlyRamps: Map<string, Int32Array>;
}

const known = new WeakMap<Settings, Known>();
const foundKnown = new WeakMap<LoadSpec, { readonly known: Known; readonly tables: CostTables }>();
/** Tables that are kept with their settings; beyond, all are let go. */
const MOST_TABLES = 4_000;

function knownOf({ day: { settings }, horizon }: DayIndex): Known {
  let own = known.get(settings);
  if (!own || own.horizon !== horizon || own.tables.size > MOST_TABLES) {
    own = { horizon, tables: new Map(), lateRamps: new Map(), earlyRamps: new Map() };
    known.set(settings, own);
  }
  return own;
}

/**
 * The tables of a day's loads; those of loads that serve alike are the same. A table goes by how long before or after the due time a minute is, so those of loads
 * that are due at other times are windows on one ramp.
 */
export class CostBook {
  private readonly known: Known;

  constructor(private readonly index: DayIndex) {
    this.known = knownOf(index);
  }

  of(load: LoadSpec): CostTables {
    const found = foundKnown.get(load);
    if (found?.known === this.known) return found.tables;
    const tables = this.lookUp(load);
    foundKnown.set(load, { known: this.known, tables });
    return tables;
  }

  private lookUp(load: LoadSpec): CostTables {
    let key = "";
    for (const { want, pieces } of load.portions)
      key += `${want.due} ${pieces} ${want.priority} ${want.freshWithinMinutes}, `;
    let tables = this.known.tables.get(key);
    if (!tables) {
      tables = this.make(load);
      this.known.tables.set(key, tables);
    }
    return tables;
  }

  private make({ portions }: LoadSpec): CostTables {
    const { horizon, weights } = this.index;
    let drop = 0;
    for (const { want, pieces } of portions) drop += pieces * want.priority * weights.shortPerPiece * MILLS;
    const due = portions[0]?.want.due ?? -1;
    const isOnRamp = due >= 0 && due <= horizon && portions.every(({ want }) => want.due === due);
    const tables = isOnRamp ? this.onRamp(portions, due) : this.anew(portions);
    return { ...tables, drop: Math.min(FORBIDDEN - 1, wholeMills(drop)) };
  }

  private onRamp(portions: LoadSpec["portions"], due: number): Omit<CostTables, "drop"> {
    const { horizon } = this.index;
    const lateKey = portions.map(({ want, pieces }) => `${pieces} ${want.priority}`).join();
    let late = this.known.lateRamps.get(lateKey);
    if (!late) {
      late = this.lateFrom(portions, horizon, 2 * horizon + 1);
      this.known.lateRamps.set(lateKey, late);
    }
    const earlyKey = portions.map(({ want, pieces }) => `${pieces} ${want.freshWithinMinutes}`).join();
    let early = this.known.earlyRamps.get(earlyKey);
    if (!early) {
      early = this.earlyFrom(portions, horizon, 2 * horizon + 1);
      this.known.earlyRamps.set(earlyKey, early);
    }
    const from = horizon - due;
    return { late: late.subarray(from, from + horizon + 1), early: early.subarray(from, from + horizon + 1) };
  }

  private anew(portions: LoadSpec["portions"]): Omit<CostTables, "drop"> {
    const length = this.index.horizon + 1;
    return { late: this.lateFrom(portions, null, length), early: this.earlyFrom(portions, null, length) };
  }

  /** Only the minutes that cost something are gone through, here from the first late one on. `due`: of all, instead of their own. */
  private lateFrom(portions: LoadSpec["portions"], due: number | null, length: number): Int32Array {
    const { latePerPieceHour } = this.index.weights;
    const dues = portions.map(({ want }) => due ?? want.due);
    const rates = portions.map(({ want, pieces }) => (pieces * want.priority * latePerPieceHour * MILLS) / 60);
    const mills = new Int32Array(length);
    for (let t = Math.max(0, Math.min(...dues) + 1); t < length; t++) {
      let amount = 0;
      for (let i = 0; i < dues.length; i++) if (t > dues[i]!) amount += (t - dues[i]!) * rates[i]!;
      mills[t] = wholeMills(amount);
    }
    return mills;
  }

  /** To the last minute that is early; not fresh any more before that is forbidden. */
  private earlyFrom(portions: LoadSpec["portions"], due: number | null, length: number): Int32Array {
    const { earlyPerPieceHour, freshForMinutes } = this.index.weights;
    const dues = portions.map(({ want }) => due ?? want.due);
    const rates = portions.map(({ pieces }) => (pieces * earlyPerPieceHour * MILLS) / 60);
    const fresh = portions.map(({ want }, i) => dues[i]! - want.freshWithinMinutes - 1);
    const free = dues.map((minute) => minute - freshForMinutes - 1);
    const last = Math.min(length - 1, Math.max(-1, ...free));
    const lastForbidden = Math.min(length - 1, Math.max(-1, ...fresh));
    const mills = new Int32Array(length);
    for (let t = Math.max(0, lastForbidden + 1); t <= last; t++) {
      let amount = 0;
      for (let i = 0; i < dues.length; i++)
        if (t > fresh[i]! && t <= free[i]!) amount += (dues[i]! - t - freshForMinutes) * rates[i]!;
      mills[t] = wholeMills(amount);
    }
    mills.fill(FORBIDDEN, 0, lastForbidden + 1);
    return mills;
  }
}
