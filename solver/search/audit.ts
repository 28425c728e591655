import { copyPlan, rebuild } from "./plan.js";
import type { State } from "./state.js";

function expectSame(name: string, kept: ArrayLike<number>, built: ArrayLike<number>): void {
  for (let i = 0; i < built.length; i++) {
    if (kept[i] !== built[i])
      throw new Error(`the search's ${name}[${i}] is ${kept[i]}, built from nothing it is ${built[i]}`);
  }
}

/** Sums that are kept up to date: every number that a state has of its own. */
function sums(state: State): [string, number][] {
  return Object.entries(state).filter((entry): entry is [string, number] => typeof entry[1] === "number");
}

/** What each heater has on it, by start, and what follows from that. Loads with the same start are of one class. */
function heat(state: State) {
  const { heaters, model } = state;
  const of: number[] = [heaters.cost, heaters.steering, ...heaters.changeWeights];
  model.heaters.forEach(({ stretches }, h) => {
    of.push(heaters.until(h) - heaters.from(h));
    for (let i = heaters.from(h); i < heaters.until(h); i++) of.push(heaters.starts[i]!, heaters.classes[i]!);
    for (let s = 0; 2 * s < stretches.length; s++) of.push(heaters.first(h, s), heaters.last(h, s));
  });
  return of;
}

/** Throws when what the search has kept up to date, change by change, is not what the same plan gives built from nothing. */
export function auditState(state: State): void {
  const built = rebuild(state.model, copyPlan(state));
  if (state.plentiful.includes(1)) built.leavePlentiful();
  built.heaters.steer(state.heaters.steeredBy);
  // What a load weighs is the search's to say; that the sum is of these weights is audited.
  state.dropCost.forEach((cost, load) => {
    built.reweigh(load, cost);
  });
  const expected = new Map(sums(built));
  for (const [name, value] of sums(state)) expectSame(name, [value], [expected.get(name)!]);
  expectSame("free", state.free, built.free);
  expectSame("mixOption", state.mixOption, built.mixOption);
  expectSame("mixStart", state.mixStart, built.mixStart);
  expectSame("mixCrew", state.mixCrew, built.mixCrew);
  expectSame("placedOfBatch", state.placedOfBatch, built.placedOfBatch);
  expectSame("mode", state.mode, built.mode);
  expectSame("finish", state.finish, built.finish);
  expectSame("takeCount", state.takeCount, built.takeCount);
  expectSame("tripLoads", state.tripLoads, built.tripLoads);
  expectSame("heaters", heat(state), heat(built));
}
