import type { Load, Mode, SearchModel, Span } from "./model.js";

/** Least and greatest distances along a mode's chain, in minutes; index = operation. */
export interface ChainBounds {
  /** From the end of mixing to the start of the operation. */
  readonly leastFromMix: Int32Array;
  readonly greatestFromMix: Int32Array;
  /** From the start of the operation to the start of the anchor (operations up to the anchor). */
  readonly leastToAnchor: Int32Array;
  readonly greatestToAnchor: Int32Array;
  /** From the start of the anchor to the end of the chain, which is as early as it can be. */
  readonly leastAfter: number;
  readonly greatestAfter: number;
  /** Finishing inside costs nothing beyond what cannot be helped. */
  readonly zoneFrom: number;
  readonly zoneTo: number;
  readonly shortestAnchor: number;
  readonly longestAnchor: number;
  /** Can a chain break the warm limit? */
  readonly checksWarm: boolean;
  /** The stock that is taken before the anchor and given back after it. */
  readonly span: Span | null;
  /** Late cost whatever the minute: of a ride that delivers after due. */
  readonly lateAnyway: number;
}

function shortest(mode: Mode, k: number): number {
  let least = Number.POSITIVE_INFINITY;
  for (const { minutes } of mode.operations[k]!.alternatives) if (minutes < least) least = minutes;
  return least;
}

function longest(mode: Mode, k: number): number {
  let most = Number.NEGATIVE_INFINITY;
  for (const { minutes } of mode.operations[k]!.alternatives) if (minutes > most) most = minutes;
  return most;
}

function zone(load: Load, mode: Mode, horizon: number): { from: number; to: number } {
  let to = Math.min(horizon, mode.finishBy);
  if (mode.deliveredAt < 0) while (to > 0 && load.lateCost[to]! > 0) to--;
  let from = 0;
  while (from < to && load.earlyCost[from]! > 0) from++;
  return { from, to };
}

function spanOverAnchor({ spans, anchor }: Mode): Span | null {
  for (const span of spans) if (span.fromOperation >= 0 && span.toOperation > anchor) return span;
  return null;
}

export function chainBounds(load: Load, mode: Mode, horizon: number): ChainBounds {
  const count = mode.operations.length;
  const leastFromMix = new Int32Array(count);
  const greatestFromMix = new Int32Array(count);
  const leastToAnchor = new Int32Array(count);
  const greatestToAnchor = new Int32Array(count);
  let least = 0;
  let greatest = 0;
  for (let k = 0; k < count; k++) {
    const hold = mode.holds[k]!;
    least += hold.least;
    greatest = Math.min(horizon, greatest + hold.greatest);
    leastFromMix[k] = least;
    greatestFromMix[k] = greatest;
    least += shortest(mode, k);
    greatest = Math.min(horizon, greatest + longest(mode, k));
  }
  for (let k = mode.anchor - 1; k >= 0; k--) {
    const hold = mode.holds[k + 1]!;
    leastToAnchor[k] = leastToAnchor[k + 1]! + hold.least + shortest(mode, k);
    greatestToAnchor[k] = Math.min(horizon, greatestToAnchor[k + 1]! + hold.greatest + longest(mode, k));
  }
  let leastAfter = shortest(mode, mode.anchor);
  let greatestAfter = longest(mode, mode.anchor);
  for (let k = mode.anchor + 1; k < count; k++) {
    const hold = mode.holds[k]!;
    leastAfter += hold.least + shortest(mode, k);
    // A point needs nothing: the chain then ends after the least hold or not at all.
    const isPoint = mode.operations[k]!.crew === null && mode.operations[k]!.alternatives.every(({ row }) => row < 0);
    greatestAfter = Math.min(horizon, greatestAfter + (isPoint ? hold.least : hold.greatest) + longest(mode, k));
  }
  const { from, to } = zone(load, mode, horizon);
  const greatestWarm = mode.warmFrom < 0 ? greatestFromMix[mode.anchor]! : greatestToAnchor[mode.warmFrom]!;
  return {
    leastFromMix,
    greatestFromMix,
    leastToAnchor,
    greatestToAnchor,
    leastAfter,
    greatestAfter,
    shortestAnchor: shortest(mode, mode.anchor),
    longestAnchor: longest(mode, mode.anchor),
    checksWarm: mode.warmMinutes < greatestWarm,
    span: spanOverAnchor(mode),
    zoneFrom: from,
    zoneTo: to,
    lateAnyway: mode.deliveredAt >= 0 ? load.lateCost[mode.deliveredAt]! : 0,
  };
}

/** The bounds of every load's modes, worked out when a load is asked for: in a repair most are only put back where they were. */
export class BoundsBook {
  private readonly known: (readonly ChainBounds[] | undefined)[];
  /** By mode, the load that it was last worked out for. */
  private readonly last = new Map<Mode, { readonly load: Load; readonly bounds: ChainBounds }>();

  constructor(private readonly model: SearchModel) {
    this.known = new Array(model.loads.length).fill(undefined);
  }

  of(load: number): readonly ChainBounds[] {
    const known = this.known[load];
    if (known) return known;
    const own = this.model.loads[load]!;
    const bounds = own.modes.map((mode) => this.boundsOf(own, mode));
    this.known[load] = bounds;
    return bounds;
  }

  /** Loads of one large line are alike: they share their modes and costs, and so their bounds. */
  private boundsOf(load: Load, mode: Mode): ChainBounds {
    const last = this.last.get(mode);
    if (last?.load.lateCost === load.lateCost && last.load.earlyCost === load.earlyCost) return last.bounds;
    const bounds = chainBounds(load, mode, this.model.horizon);
    this.last.set(mode, { load, bounds });
    return bounds;
  }
}
