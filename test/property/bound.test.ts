import { describe, expect, it } from "vitest";
import { lowerBound } from "../../solver/bound/index.js";
import { pose } from "../../solver/draw.js";
import { createRng } from "../../solver/rng.js";
import { ANNEALING, anneal } from "../../solver/search/anneal.js";
import { construct } from "../../solver/search/construct.js";
import { Draft } from "../../solver/search/draft.js";
import type { SearchModel } from "../../solver/search/model.js";
import { State } from "../../solver/search/state.js";
import { randomDay } from "../days/random-day.js";
import { leastCost } from "../oracle/exhaustive.js";
import { randomModel } from "../oracle/random-model.js";
import { loadLp } from "../support/lp.js";

const lp = await loadLp();
const seconds = 20;

function found(model: SearchModel, seed: number, tries: number): number {
  const draft = new Draft(model, createRng(seed));
  construct(draft);
  return anneal(draft, { progress: (i) => i / tries, ...ANNEALING }).best.cost;
}

describe("no plan costs less than the bound", () => {
  it("the best of all plans on tiny models, for steps of several lengths", { timeout: 240_000 }, () => {
    let share = 0;
    for (let seed = 1; seed <= 80; seed++) {
      const model = randomModel(5000 + seed, 16, 3, seed % 2 === 0);
      const optimum = leastCost(new State(model));
      for (const stepMinutes of [1, 2, 5]) {
        const bound = lowerBound(model, { lp, seconds, stepMinutes });
        expect(bound, `seed ${seed} step ${stepMinutes}`).not.toBeNull();
        expect(bound!, `seed ${seed} step ${stepMinutes}`).toBeLessThanOrEqual(optimum);
        if (stepMinutes === 1) share += bound! / Math.max(1, optimum);
      }
    }
    // A bound that is always nothing would pass the above; 0.38 was measured: mixers, shelves and people are left out.
    expect(share / 80).toBeGreaterThan(0.3);
  });

  it("plans found on 1 500 random models", { timeout: 240_000 }, () => {
    for (let seed = 1; seed <= 1500; seed++) {
      const model = randomModel(9000 + seed, 40, 6, seed % 2 === 0);
      const bound = lowerBound(model, { lp, seconds, stepMinutes: 1 + (seed % 7) });
      expect(bound, `seed ${seed}`).not.toBeNull();
      expect(bound!, `seed ${seed}`).toBeLessThanOrEqual(found(model, seed, 60));
    }
  });

  it("plans found on 150 random days of several sites", { timeout: 400_000 }, () => {
    for (let seed = 1; seed <= 150; seed++) {
      const { model } = pose(randomDay(seed, seed % 4 === 0 ? "tiny" : "small"), lp);
      const bound = lowerBound(model, { lp, seconds, stepMinutes: 20 });
      if (bound !== null) expect(bound, `seed ${seed}`).toBeLessThanOrEqual(found(model, seed, 100));
    }
  });
});
