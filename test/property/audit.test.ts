import { describe, expect, it } from "vitest";
import { pose } from "../../solver/draw.js";
import { createRng } from "../../solver/rng.js";
import { auditState } from "../../solver/search/audit.js";
import { construct } from "../../solver/search/construct.js";
import { Draft } from "../../solver/search/draft.js";
import { improve } from "../../solver/search/improve.js";
import { makeAll } from "../../solver/search/make-all.js";
import type { SearchModel } from "../../solver/search/model.js";
import { rebuild } from "../../solver/search/plan.js";
import { State } from "../../solver/search/state.js";
import { coreModel } from "../bench/core/adapter.js";
import { heldOut } from "../bench/core/generate.js";
import { realisticDay } from "../bench/days/realistic-day.js";
import { randomDay } from "../days/random-day.js";
import { randomModel } from "../oracle/random-model.js";
import { loadLp } from "../support/lp.js";

const lp = await loadLp();
const SCALE = process.env.DECKSHELF_LONG === "1" ? 20 : 1;

/** A whole search in which every change, kept or taken back, is held to a state built from nothing. */
function audited(model: SearchModel, seed: number, tries: number): number {
  let audits = 0;
  const audit = (state: State): void => {
    audits++;
    auditState(state);
  };
  const draft = new Draft(model, createRng(seed), new State(model), { audit });
  construct(draft);
  improve(draft, { progress: (i) => i / tries });
  return audits;
}

describe("a whole search keeps its state as one built from nothing", () => {
  it("on random models", () => {
    for (let seed = 1; seed <= 100 * SCALE; seed++) {
      const audits = audited(randomModel(seed, 40, 6, seed % 2 === 0), seed, 60);
      expect(audits, `seed ${seed}`).toBeGreaterThanOrEqual(60);
    }
  });

  it("when it makes loads by force", { timeout: 60_000 * SCALE }, () => {
    let forced = 0;
    for (let seed = 1; seed <= 100 * SCALE; seed++) {
      const model = randomModel(seed, 40, 6, seed % 2 === 0);
      let audits = 0;
      const audit = (state: State): void => {
        audits++;
        auditState(state);
      };
      const draft = new Draft(model, createRng(seed), new State(model), { audit });
      const { best, iterations } = makeAll(draft, { progress: (i) => i / 60 });
      expect(audits, `seed ${seed}`).toBe(iterations);
      const unmade = model.loads.filter((_, load) => best.mode[load]! < 0);
      expect(best.cost).toBe(unmade.reduce((sum, { dropCost }) => sum + dropCost, 0));
      // The plan kept aside is one that can be built from nothing.
      auditState(rebuild(model, best));
      if (unmade.length === 0) forced++;
    }
    expect(forced).toBeGreaterThan(10);
    for (let seed = 1; seed <= 40 * SCALE; seed++) {
      const { model } = pose(randomDay(seed, "small"), lp);
      const draft = new Draft(model, createRng(seed), new State(model), { audit: auditState });
      construct(draft);
      if (model.loads.length > 0) makeAll(draft, { progress: (i) => i / 40 });
    }
  });

  it("on random days of several sites", { timeout: 60_000 * SCALE }, () => {
    for (let seed = 1; seed <= 60 * SCALE; seed++) {
      const { model } = pose(randomDay(seed, "small"), lp);
      if (model.loads.length > 0) audited(model, seed, 40);
    }
  });

  it("on a realistic day and on core instances", { timeout: 60_000 * SCALE }, () => {
    audited(pose(realisticDay(1, 50), lp).model, 1, 150 * SCALE);
    audited(coreModel(heldOut("S", 1)), 1, 300 * SCALE);
    audited(coreModel(heldOut("M", 1)), 1, 150 * SCALE);
  });

  it("and says so when it is not", () => {
    const draft = new Draft(coreModel(heldOut("S", 2)), createRng(1));
    construct(draft);
    auditState(draft.state);
    draft.state.lateCost += 1;
    expect(() => auditState(draft.state)).toThrow(/lateCost/);
    draft.state.lateCost -= 1;
    draft.state.free[7] = draft.state.free[7]! + 1;
    expect(() => auditState(draft.state)).toThrow(/free\[7\]/);
  });
});
