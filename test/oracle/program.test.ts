import { describe, expect, it } from "vitest";
import { loadHighs } from "../../solver/lp/engine-highs.js";
import { State } from "../../solver/search/state.js";
import { plainModel } from "../bench/highs/bench.js";
import { canBeProgram, PlanProgram } from "../bench/highs/program.js";
import { leastCost } from "./exhaustive.js";
import { randomModel } from "./random-model.js";

const highs = await loadHighs();

/** The bench compares the search with an integer program; here that program is held to the best of all plans. */
describe("the time-indexed integer program of a tiny model", () => {
  it("has the least cost of all plans as its optimum", { timeout: 120_000 }, () => {
    for (let seed = 1; seed <= 8; seed++) {
      const model = plainModel(randomModel(3000 + seed, 14, 2, seed % 2 === 0));
      expect(canBeProgram(model)).toBe(true);
      const result = highs.solve(new PlanProgram(model).build(), { seconds: 60 });
      expect(result.status, `seed ${seed}`).toBe("optimal");
      if (result.status === "optimal")
        expect(result.objective, `seed ${seed}`).toBeCloseTo(leastCost(new State(model)), 4);
    }
  });
});
