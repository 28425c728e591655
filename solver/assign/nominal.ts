import type { MadeMode } from "../problem/modes.js";
import type { Alternative } from "../search/model.js";

/** By site: at which minutes somebody can mix. */
export type MixingMinutes = ReadonlyMap<string, Uint8Array>;

/** Room that a pan takes of something for a while, at the times at which it would be made just in time. */
export interface Usage {
  /** One of the rows that serve; they are all of one pool. */
  readonly row: number;
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
    let minutes = Number.POSITIVE_INFINITY;
    let first: Alternative | null = null;
    for (const alternative of operation.alternatives) {
      minutes = Math.min(minutes, alternative.minutes);
      if (alternative.row >= 0) first ??= alternative;
    }
    const end = at;
    const start = end - minutes;
    if (first && minutes > 0) usages.push({ row: first.row, amount: first.amount, from: start, to: end });
    if (operation.crew) {
      const until = operation.crew.minutes > 0 ? start + operation.crew.minutes : end;
      usages.push({ row: operation.crew.rows[0]!, amount: operation.crew.heads, from: start, to: until });
    }
    const before = k === 0 ? mixEndFor(mixing, made, start) : holdStart(hold, start);
    if (before === null || before < 0) return null;
    if (hold.rows.length > 0) {
      const leaves = hold.ride ? hold.ride.leave : start;
      if (leaves > before) usages.push({ row: hold.rows[0]!, amount: hold.amount, from: before, to: leaves });
      if (hold.ride && start > hold.ride.arrive) {
        usages.push({ row: hold.ride.rows[0]!, amount: hold.amount, from: hold.ride.arrive, to: start });
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
