import type { MadeMode } from "../problem/modes.js";

/** By site: at which minutes somebody can mix. */
export type MixingMinutes = ReadonlyMap<string, Uint8Array>;

/** Room that a pan takes of something for a while, at the times at which it would be made just in time. */
export interface Usage {
  /** Rows of which any one serves. */
  readonly rows: Int32Array;
  readonly amount: number;
  readonly from: number;
  readonly to: number;
}

export interface NominalPlan {
  readonly usages: readonly Usage[];
  readonly delivered: number;
  readonly finish: number;
}

/**
 * When everything happens if a pan of a way is finished at `finish`, every step as short as allowed and the mix at the
 * last minute at which somebody can mix; null when that lies before the window or breaks a greatest wait.
 */
export function nominalPlan(mixing: MixingMinutes, made: MadeMode, finish: number): NominalPlan | null {
  const { mode } = made;
  const usages: Usage[] = [];
  let at = finish;
  for (let k = mode.operations.length - 1; k >= 0; k--) {
    const operation = mode.operations[k]!;
    const hold = mode.holds[k]!;
    const minutes = Math.min(...operation.alternatives.map((alternative) => alternative.minutes));
    const end = at;
    const start = end - minutes;
    const rows = operation.alternatives.filter((alternative) => alternative.row >= 0);
    if (rows.length > 0 && minutes > 0) {
      usages.push({ rows: Int32Array.from(rows, (a) => a.row), amount: rows[0]!.amount, from: start, to: end });
    }
    if (operation.crew) {
      const until = operation.crew.minutes > 0 ? start + operation.crew.minutes : end;
      usages.push({ rows: operation.crew.rows, amount: operation.crew.heads, from: start, to: until });
    }
    const before = k === 0 ? mixEndFor(mixing, made, start) : holdStart(hold, start);
    if (before === null || before < 0) return null;
    if (hold.rows.length > 0) {
      const leaves = hold.ride ? hold.ride.leave : start;
      if (leaves > before) usages.push({ rows: hold.rows, amount: hold.amount, from: before, to: leaves });
      if (hold.ride && start > hold.ride.arrive) {
        usages.push({ rows: hold.ride.rows, amount: hold.amount, from: hold.ride.arrive, to: start });
      }
    }
    at = before;
  }
  return { usages, finish, delivered: mode.deliveredAt >= 0 ? mode.deliveredAt : finish };
}

/** The latest end of the operation before a hold, or null when the ride does not allow it. */
function holdStart(
  hold: { least: number; greatest: number; ride: { leave: number; arrive: number } | null },
  start: number,
): number | null {
  const latest = start - hold.least;
  if (!hold.ride) return latest;
  const before = Math.min(latest, hold.ride.leave);
  return start < hold.ride.arrive || start - before > hold.greatest ? null : before;
}

/** The last minute, within the first hold's limits, at which a mix can end. */
function mixEndFor(mixing: MixingMinutes, made: MadeMode, start: number): number | null {
  const hold = made.mode.holds[0]!;
  const latest = holdStart(hold, start);
  if (latest === null) return null;
  const minutes = mixing.get(made.meaning.mixSite)!;
  for (let t = Math.min(latest, minutes.length - 1); t >= Math.max(0, start - hold.greatest); t--)
    if (minutes[t]) return t;
  return null;
}
