import type { Way } from "./ways.js";

/** One part of a way: the mix, or a step of the route. Minutes of the window. */
export interface Link {
  readonly does: string;
  readonly site: string;
  /** What it can last. */
  readonly least: number;
  readonly greatest: number;
  /** Between the end of the link before and its start. */
  readonly waitLeast: number;
  readonly waitGreatest: number;
  /** 1 at each minute at which it can start as far as people and units in service go; null: at any. */
  readonly open: Uint8Array | null;
  /** Step of the route; -1 for the mix. */
  readonly step: number;
}

export interface Chain {
  readonly way: Way;
  readonly links: readonly Link[];
  /** Index of the bake among the links. */
  readonly bake: number;
  /** Index of the retard with a ride in it; -1: none. */
  readonly coldRide: number;
  /** The bake starts at most so long after the end of link `warmAfter`. */
  readonly warmAfter: number;
  readonly warmMinutes: number;
}

/** Limits within which every plan that keeps the rules has the start and end of each link. */
export interface Windows {
  readonly startFrom: Int32Array;
  readonly startTo: Int32Array;
  readonly endFrom: Int32Array;
  readonly endTo: Int32Array;
}

function firstOpen(open: Uint8Array, from: number): number {
  let t = Math.max(0, from);
  while (t < open.length && !open[t]) t++;
  return t;
}

function lastOpen(open: Uint8Array, from: number): number {
  let t = Math.min(open.length - 1, from);
  while (t >= 0 && !open[t]) t--;
  return t;
}

const PASSES = 3;

/**
 * Limits of every link when the bake starts in [bakeFrom, bakeTo], the last link ends in [endFrom, endTo] and all lies in the window; null when
 * no plan does so. Bounds are passed along the chain both ways; each pass only removes what no plan can do.
 */
export function windowsOf(
  chain: Chain,
  horizon: number,
  bake: { readonly from: number; readonly to: number },
  finish: { readonly from: number; readonly to: number },
): Windows | null {
  const { links } = chain;
  const n = links.length;
  const startFrom = new Int32Array(n);
  const startTo = new Int32Array(n).fill(horizon);
  const endFrom = new Int32Array(n);
  const endTo = new Int32Array(n).fill(horizon);
  startFrom[chain.bake] = Math.max(0, bake.from);
  startTo[chain.bake] = Math.min(horizon, bake.to);
  endFrom[n - 1] = Math.max(0, finish.from);
  endTo[n - 1] = Math.min(horizon, finish.to);
  if (chain.coldRide >= 0) {
    const trip = chain.way.trip!;
    startTo[chain.coldRide] = Math.min(startTo[chain.coldRide]!, trip.leave);
    endFrom[chain.coldRide] = Math.max(endFrom[chain.coldRide]!, trip.delivered);
  }
  const low = (array: Int32Array, i: number, value: number): void => {
    if (value > array[i]!) array[i] = value;
  };
  const high = (array: Int32Array, i: number, value: number): void => {
    if (value < array[i]!) array[i] = value;
  };
  for (let pass = 0; pass < PASSES; pass++) {
    for (let i = 0; i < n; i++) {
      const link = links[i]!;
      if (i > 0) {
        low(startFrom, i, endFrom[i - 1]! + link.waitLeast);
        high(startTo, i, endTo[i - 1]! + link.waitGreatest);
      }
      if (link.open) {
        low(startFrom, i, firstOpen(link.open, startFrom[i]!));
        high(startTo, i, lastOpen(link.open, startTo[i]!));
      }
      if (i === chain.bake) high(startTo, i, endTo[chain.warmAfter]! + chain.warmMinutes);
      low(endFrom, i, startFrom[i]! + link.least);
      high(endTo, i, startTo[i]! + link.greatest);
      if (startFrom[i]! > startTo[i]! || endFrom[i]! > endTo[i]!) return null;
    }
    for (let i = n - 1; i >= 0; i--) {
      const link = links[i]!;
      if (i === chain.warmAfter) low(endFrom, i, startFrom[chain.bake]! - chain.warmMinutes);
      low(startFrom, i, endFrom[i]! - link.greatest);
      high(startTo, i, endTo[i]! - link.least);
      if (i > 0) {
        low(endFrom, i - 1, startFrom[i]! - link.waitGreatest);
        high(endTo, i - 1, startTo[i]! - link.waitLeast);
      }
      if (startFrom[i]! > startTo[i]! || endFrom[i]! > endTo[i]!) return null;
    }
  }
  return { startFrom, startTo, endFrom, endTo };
}
