import type { Hold, Operation } from "./model.js";
import type { State } from "./state.js";

/** The most rows of a hold, a crew need or an operation. */
const MANY = 64;

/**
 * Reads free amounts along a pass over growing minutes. For each row the scan remembers how far it has read and the last minute without
 * room, so that a window of any length costs one step a minute.
 */
export class Scanner {
  private readonly state: State;
  private readonly holdNext = new Int32Array(MANY);
  private readonly holdBad = new Int32Array(MANY);
  private readonly rideClear = new Int32Array(MANY);
  private readonly heatNext = new Int32Array(MANY);
  private readonly heatBad = new Int32Array(MANY);
  private readonly crewNext = new Int32Array(MANY);
  private readonly crewBad = new Int32Array(MANY);
  private readonly rowNext = new Int32Array(MANY);
  private readonly rowBad = new Int32Array(MANY);

  constructor(state: State) {
    this.state = state;
  }

  /** Begins a pass over starts from `from` on: `rows` alternatives, `crews` crew rows. */
  startOperation(from: number, rows: number, crews: number): void {
    for (let i = 0; i < crews; i++) {
      this.crewNext[i] = from;
      this.crewBad[i] = -1;
    }
    for (let i = 0; i < rows; i++) {
      this.rowNext[i] = from;
      this.rowBad[i] = -1;
    }
  }

  startHold(hold: Hold, firstEnd: number): void {
    const { horizon, free } = this.state;
    const ride = hold.ride;
    for (let i = 0; i < hold.rows.length; i++) {
      this.heatNext[i] = firstEnd;
      this.heatBad[i] = -1;
      if (ride === null) {
        this.holdNext[i] = firstEnd;
        this.holdBad[i] = -1;
        continue;
      }
      const base = hold.rows[i]! * horizon;
      let t = ride.leave;
      while (t > firstEnd && free[base + t - 1]! >= hold.amount) t--;
      this.rideClear[i] = t;
    }
    if (ride === null) return;
    for (let i = 0; i < ride.rows.length; i++) {
      this.holdNext[i] = ride.arrive;
      this.holdBad[i] = -1;
    }
  }

  /** Is there room throughout a hold from `from` to `to`? Both only ever grow during a pass. */
  holdFits(hold: Hold, amount: number, from: number, to: number): boolean {
    if (hold.ride === null) {
      for (let i = 0; i < hold.rows.length; i++) {
        if (this.rowClear(hold.rows[i]!, i, amount, to) < from && this.heatFits(hold, i, from)) return true;
      }
      return false;
    }
    let before = false;
    for (let i = 0; i < hold.rows.length && !before; i++) {
      before = this.rideClear[i]! <= from && this.heatFits(hold, i, from);
    }
    if (!before) return false;
    const rows = hold.ride.rows;
    for (let i = 0; i < rows.length; i++) if (this.rowClear(rows[i]!, i, amount, to) < 0) return true;
    return rows.length === 0;
  }

  /** The last minute before `to` at which the row has no room, -1 if none since the scan began. */
  private rowClear(row: number, i: number, amount: number, to: number): number {
    const { horizon, free } = this.state;
    const base = row * horizon;
    let scan = this.holdNext[i]!;
    let bad = this.holdBad[i]!;
    while (scan < to) {
      if (free[base + scan]! < amount) bad = scan;
      scan++;
    }
    this.holdNext[i] = scan;
    this.holdBad[i] = bad;
    return bad;
  }

  private heatFits(hold: Hold, i: number, from: number): boolean {
    const row = hold.heatRows.length > 0 ? hold.heatRows[i]! : -1;
    if (row < 0) return true;
    const { horizon, free } = this.state;
    const base = row * horizon;
    const end = Math.min(horizon, from + hold.heatMinutes);
    let scan = Math.max(this.heatNext[i]!, from);
    let bad = this.heatBad[i]!;
    while (scan < end) {
      if (free[base + scan]! < hold.heatAmount) bad = scan;
      scan++;
    }
    this.heatNext[i] = scan;
    this.heatBad[i] = bad;
    return bad < from;
  }

  crewFits(operation: Operation, t: number, minutes: number): boolean {
    const crew = operation.crew!;
    const { horizon, free } = this.state;
    // Alternatives of unlike length need the longest; anchors are attended for crew.minutes.
    let length = crew.minutes;
    if (length === 0) {
      length = minutes;
      for (const alternative of operation.alternatives) if (alternative.minutes > length) length = alternative.minutes;
    }
    const end = t + length;
    if (end > horizon) return false;
    for (let i = 0; i < crew.rows.length; i++) {
      const base = crew.rows[i]! * horizon;
      let scan = this.crewNext[i]!;
      let bad = this.crewBad[i]!;
      while (scan < end) {
        if (free[base + scan]! < crew.heads) bad = scan;
        scan++;
      }
      this.crewNext[i] = scan;
      this.crewBad[i] = bad;
      if (bad < t) return true;
    }
    return false;
  }

  alternativeFits(row: number, amount: number, i: number, from: number, to: number): boolean {
    if (row < 0) return true;
    const { horizon, free } = this.state;
    const base = row * horizon;
    let scan = this.rowNext[i]!;
    let bad = this.rowBad[i]!;
    while (scan < to) {
      if (free[base + scan]! < amount) bad = scan;
      scan++;
    }
    this.rowNext[i] = scan;
    this.rowBad[i] = bad;
    return bad < from;
  }
}
