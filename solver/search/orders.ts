import type { Draft } from "./draft.js";

/** An order in which batches are mixed and loads are placed: the least first. */
export interface Order {
  readonly batches: Float64Array;
  readonly loads: Float64Array;
  /** Whoever is late in it comes first of all the next time; else sooner by as many minutes as it was late. */
  readonly lateFirst: boolean;
}

/** By the time there is. */
export function urgency({ model, mixes, bounds }: Draft): Order {
  return {
    batches: Float64Array.from(model.batches, (_, batch) => mixes.latestEnd(batch)),
    loads: Float64Array.from(model.loads, (_, load) => bounds.of(load)[0]!.zoneTo),
    lateFirst: false,
  };
}

type Key = (load: number) => number;

/**
 * Unlike orders of one set of loads. Which is best depends on what a day is short of: loads that are alike one after another fill decks and need few changes of setpoint, large ones
 * first leave no half decks, urgent ones first are in time.
 */
export function unlikeOrders(draft: Draft): Order[] {
  const { model, bounds } = draft;
  const anchorOf = (load: number) => {
    const { operations, anchor } = model.loads[load]!.modes[0]!;
    return operations[anchor]!.alternatives[0]!;
  };
  const minutes: Key = (load) => anchorOf(load).minutes;
  const size: Key = (load) => -anchorOf(load).minutes * anchorOf(load).amount;
  const setpoint: Key = (load) => (anchorOf(load).row < 0 ? -1 : model.classOfRow[anchorOf(load).row]!);
  const latest: Key = (load) => bounds.of(load)[0]!.zoneTo - bounds.of(load)[0]!.leastAfter;
  const latestHours: Key = (load) => Math.round(latest(load) / 120);
  const keys: readonly (readonly Key[])[] = [
    [setpoint, minutes],
    [size],
    [setpoint],
    [(load) => -setpoint(load), size],
    [latestHours, setpoint, size],
  ];
  const loads = model.loads.map((_, load) => load);
  return keys.map((own) => {
    const all = [...own, latest];
    const sorted = [...loads].sort((a, b) => {
      for (const key of all) if (key(a) !== key(b)) return key(a) - key(b);
      return a - b;
    });
    const ranks = new Float64Array(loads.length);
    sorted.forEach((load, rank) => {
      ranks[load] = rank;
    });
    return { batches: urgency(draft).batches, loads: ranks, lateFirst: true };
  });
}
