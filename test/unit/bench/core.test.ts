import { describe, expect, it } from "vitest";
import { createRng } from "../../../solver/rng.js";
import { construct } from "../../../solver/search/construct.js";
import { Draft } from "../../../solver/search/draft.js";
import { improve } from "../../../solver/search/improve.js";
import { coreModel, coreSolution } from "../../bench/core/adapter.js";
import { checkCore } from "../../bench/core/checker.js";
import { heldOut } from "../../bench/core/generate.js";

describe("held-out core instances", () => {
  it("are the same for the same seed and have the recipe's sizes", () => {
    expect(heldOut("M", 3)).toEqual(heldOut("M", 3));
    const sizes = (["S", "M", "L", "XL"] as const).map((size) => {
      const { batches, loads, mixers, decks } = heldOut(size, 1);
      return [batches.length, loads.length, mixers.length, decks.length];
    });
    expect(sizes).toEqual([
      [6, 20, 1, 4],
      [15, 60, 2, 8],
      [40, 200, 3, 16],
      [100, 600, 6, 40],
    ]);
  });

  it("have plans that pass the set's own rules, with nearly all loads made", () => {
    for (let seed = 1; seed <= 10; seed++) {
      const instance = heldOut(seed % 2 === 0 ? "M" : "S", seed);
      const model = coreModel(instance);
      const draft = new Draft(model, createRng(seed));
      construct(draft);
      const { best } = improve(draft, { progress: (i) => i / 400 });
      const solution = coreSolution(instance, model, best);
      expect(checkCore(instance, solution), `seed ${seed}`).toEqual([]);
      const unmade = Object.values(solution.loads).filter((load) => load === null).length;
      expect(unmade, `seed ${seed}`).toBeLessThanOrEqual(instance.loads.length * 0.05);
    }
  });
});
