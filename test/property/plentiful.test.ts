import { describe, expect, it } from "vitest";
import { pose } from "../../solver/draw.js";
import { createRng } from "../../solver/rng.js";
import { construct } from "../../solver/search/construct.js";
import { Draft } from "../../solver/search/draft.js";
import { improve } from "../../solver/search/improve.js";
import type { SearchModel } from "../../solver/search/model.js";
import type { PlanCopy } from "../../solver/search/plan.js";
import { plentifulRows } from "../../solver/search/plentiful.js";
import { coreModel } from "../bench/core/adapter.js";
import { heldOut } from "../bench/core/generate.js";
import { randomDay } from "../days/random-day.js";
import { randomModel } from "../oracle/random-model.js";
import { loadLp } from "../support/lp.js";

const lp = await loadLp();
const SCALE = process.env.DECKSHELF_LONG ? 10 : 1;

function planOf(model: SearchModel, tries: number): PlanCopy {
  const draft = new Draft(model, createRng(1));
  construct(draft);
  return improve(draft, { progress: (iterations) => iterations / tries }).best;
}

/** The same model, every row of which is counted. */
function counted(model: SearchModel): SearchModel {
  const copy = { ...model };
  plentifulRows(copy).fill(0);
  return copy;
}

/** Plans with and without counting plentiful rows; how many rows were. */
function compare(model: SearchModel, tries: number, name: string): number {
  const plentiful = plentifulRows(model).reduce((sum, flag) => sum + flag, 0);
  if (plentiful > 0) expect(planOf(model, tries), name).toEqual(planOf(counted(model), tries));
  return plentiful;
}

describe("a row that cannot run short is not counted", () => {
  it("and plans are the same, on random models, core instances and days", { timeout: 60_000 * SCALE }, () => {
    let rows = 0;
    for (let seed = 1; seed <= 100 * SCALE; seed++)
      rows += compare(randomModel(seed, 40, 6, seed % 2 === 0), 100, `model ${seed}`);
    expect(rows).toBeGreaterThan(20);
    for (const size of ["S", "M"] as const) {
      // The recipe gives the fridge room for every tub.
      const model = coreModel(heldOut(size, 5));
      expect(compare(model, 300, size)).toBe(1);
    }
    let ofDays = 0;
    for (let seed = 1; seed <= 20 * SCALE; seed++)
      ofDays += compare(pose(randomDay(seed, "small"), lp).model, 100, `day ${seed}`);
    expect(ofDays).toBeGreaterThan(20);
  });

  it("but with one tub less it is", () => {
    const instance = heldOut("M", 5);
    const tubs = instance.loads.reduce((sum, load) => sum + load.tubs, 0);
    const rowsWith = (shelfTubs: number): number =>
      plentifulRows(coreModel({ ...instance, shelfTubs })).reduce((sum, flag) => sum + flag, 0);
    expect(rowsWith(tubs)).toBe(1);
    expect(rowsWith(tubs - 1)).toBe(0);
  });
});
