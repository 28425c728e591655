import { describe, expect, it } from "vitest";
import { createRng, type Rng } from "../../solver/rng.js";
import { anneal } from "../../solver/search/anneal.js";
import { construct } from "../../solver/search/construct.js";
import { Draft } from "../../solver/search/draft.js";
import type { SearchModel } from "../../solver/search/model.js";
import { State } from "../../solver/search/state.js";
import { everyPlace, leastCost } from "./exhaustive.js";
import { randomModel } from "./random-model.js";

describe("the exact insertion", () => {
  it("costs what trying every place of one load costs, on 400 small states", { timeout: 120_000 }, () => {
    let compared = 0;
    for (let seed = 1; seed <= 400; seed++) {
      const model = randomModel(seed, 30, 4, true);
      const draft = new Draft(model, createRng(seed));
      construct(draft);
      const { state, inserter } = draft;
      for (let load = 0; load < model.loads.length; load++) {
        if (state.mode[load]! < 0 || state.placedOfBatch[model.loads[load]!.batch] === 0) continue;
        state.lift(load);
        const without = state.cost;
        // After the bake a chain ends as early as it can: per bake only the earliest end counts.
        const earliest = new Map<string, { finish: number; cost: number }>();
        everyPlace(state, load, ({ anchor, finish }) => {
          const cost = state.cost - (without - model.loads[load]!.dropCost);
          const known = earliest.get(anchor);
          if (!known || finish < known.finish || (finish === known.finish && cost < known.cost))
            earliest.set(anchor, { finish, cost });
        });
        const least = Math.min(Number.POSITIVE_INFINITY, ...[...earliest.values()].map(({ cost }) => cost));
        const found = inserter.find(load, model.loads[load]!.dropCost);
        const { dropCost } = model.loads[load]!;
        if (least >= dropCost) expect(found, `seed ${seed} load ${load}`).toBe(false);
        else expect(inserter.cost, `seed ${seed} load ${load}`).toBe(least);
        if (found) {
          inserter.commit(load);
          expect(state.cost, `seed ${seed} load ${load}`).toBe(without - dropCost + inserter.cost);
        }
        compared++;
      }
    }
    expect(compared).toBeGreaterThan(400);
  });
});

/** Every mode also holds a tub of the stock of pans from the end of mixing to the start of the shaping or of the bake, or to the end. */
function withTubs(model: SearchModel, rng: Rng): SearchModel {
  const { capacity, horizon } = model;
  const row = 10;
  const roomier = capacity.slice();
  for (let i = row * horizon; i < (row + 1) * horizon; i++) roomier[i] = capacity[i]! + rng.below(2);
  const loads = model.loads.map((load) => ({
    ...load,
    modes: load.modes.map((mode) => ({
      ...mode,
      spans: [...mode.spans, { row, amount: 1, fromOperation: -1, toOperation: rng.below(3) - 1 }],
    })),
  }));
  return { ...model, capacity: roomier, loads };
}

describe("the exact insertion with the mix", () => {
  it("costs what mixing at every minute and then inserting costs, on 400 small states", { timeout: 120_000 }, () => {
    const counts = { found: 0, none: 0, blocked: 0 };
    for (let seed = 1; seed <= 400; seed++) {
      const model = withTubs(randomModel(seed, 30, 4, true), createRng(seed));
      const draft = new Draft(model, createRng(seed));
      construct(draft);
      const { state, inserter, mixes } = draft;
      model.batches.forEach(({ options, loads }, batch) => {
        for (const load of loads) if (state.mode[load]! >= 0) state.lift(load);
        if (state.mixOption[batch]! >= 0) state.liftMix(batch);
        const load = loads[0]!;
        const { dropCost } = model.loads[load]!;
        const { site, minutes } = options[0]!;
        const starts = mixes.freeOn(batch, 0);
        let least = dropCost;
        let isBlocked = false;
        for (let n = 0; n < starts.count; n++) {
          for (let start = starts.from[n]!; start <= starts.to[n]!; start++) {
            mixes.choose(batch, 0, start);
            state.placeMix(batch, 0, start, mixes.crewRow);
            if (inserter.find(load, dropCost)) least = Math.min(least, inserter.cost);
            else isBlocked = true;
            state.liftMix(batch);
          }
        }
        const isFound = inserter.findWithMix(load, dropCost, -1, site, minutes, mixes.freeOn(batch, 0));
        expect(isFound ? inserter.cost : dropCost, `seed ${seed} batch ${batch}`).toBe(least);
        if (isBlocked) counts.blocked++;
        if (isFound) counts.found++;
        else counts.none++;
      });
    }
    expect(counts.found).toBeGreaterThan(100);
    expect(counts.none).toBeGreaterThan(20);
    expect(counts.blocked).toBeGreaterThan(100);
  });
});

describe("the search on tiny days", () => {
  it("never beats trying everything, and nearly always reaches it", { timeout: 240_000 }, () => {
    let reached = 0;
    const count = 60;
    for (let seed = 1; seed <= count; seed++) {
      const model = randomModel(1000 + seed, 16, 3, false);
      const optimum = leastCost(new State(model));
      let cost = Number.POSITIVE_INFINITY;
      for (let run = 0; run < 3; run++) {
        const draft = new Draft(model, createRng(seed + 1000 * run));
        construct(draft);
        const { best } = anneal(draft, { progress: (i) => i / 2000, hot: 3, cold: 0.01, shortShare: 0.25 });
        cost = Math.min(cost, best.cost);
      }
      expect(cost, `seed ${seed}`).toBeGreaterThanOrEqual(optimum);
      if (cost === optimum) reached++;
    }
    expect(reached).toBeGreaterThanOrEqual(0.85 * count);
  });
});
