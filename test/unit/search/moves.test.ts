import { describe, expect, it } from "vitest";
import { createRng } from "../../../solver/rng.js";
import { construct } from "../../../solver/search/construct.js";
import { Draft } from "../../../solver/search/draft.js";
import { heaterKinds } from "../../../solver/search/heater-kinds.js";
import { otherHeater } from "../../../solver/search/moves/other-heater.js";
import { trade } from "../../../solver/search/moves/trade.js";
import { adoptPlan, copyPlan, type PlanCopy } from "../../../solver/search/plan.js";
import { coreModel } from "../../bench/core/adapter.js";
import type { CoreInstance, CoreLoad } from "../../bench/core/format.js";

function kitchen(deckPans: readonly number[], loads: readonly Partial<CoreLoad>[]): CoreInstance {
  return {
    name: "small",
    seed: 1,
    horizon: 2160,
    mixers: [{ id: "X1", maxKg: 50 }],
    shelfTubs: 40,
    crew: [{ from: 0, to: 2160, heads: 8 }],
    proofPans: 80,
    kettles: [],
    decks: deckPans.map((pans, d) => ({ id: `D${d}`, pans, coldStartMin: 40, upCPerMin: 2, downCPerMin: 2 })),
    coolPans: 80,
    outages: [],
    batches: [{ id: "B", mixMin: 10, kg: 20, retardMin: 480, retardMax: 1500 }],
    loads: loads.map((load, l) => ({
      id: `L${l}`,
      batch: "B",
      pans: 2,
      pieces: 24,
      tubs: 1,
      temperMin: 30,
      shapeMin: 10,
      proofMin: 30,
      proofMax: 60,
      boil: false,
      boilToBakeMax: 0,
      bakeMin: 18,
      bakeC: 240,
      coolMin: 20,
      due: 1200,
      weight: 1,
      ...load,
    })),
  };
}

function draftOf(instance: CoreInstance, seed: number): Draft {
  const draft = new Draft(coreModel(instance), createRng(seed));
  construct(draft);
  return draft;
}

/** The move again and again from one plan: the plans that it leads to. */
function outcomes(draft: Draft, move: { apply(draft: Draft): boolean }, tries: number): PlanCopy[] {
  const plans: PlanCopy[] = [];
  for (let i = 0; i < tries; i++) {
    if (move.apply(draft)) plans.push(copyPlan(draft.state));
    draft.reject();
  }
  return plans;
}

/** Of two loads one takes the other's chain, and the other way round. */
function turnedRound(right: PlanCopy): PlanCopy {
  const wrong = {
    ...right,
    finish: right.finish.slice(),
    start: right.start.slice(),
    alternative: right.alternative.slice(),
  };
  const width = right.start.length / 2;
  wrong.finish[0] = right.finish[1]!;
  wrong.finish[1] = right.finish[0]!;
  for (const places of [wrong.start, wrong.alternative])
    places.set([...places.subarray(width), ...places.subarray(0, width)]);
  return wrong;
}

const litHeaters = (draft: Draft): number[] =>
  draft.model.heaters.map((_, h) => draft.state.heaters.until(h) - draft.state.heaters.from(h));

describe("trading places", () => {
  it("puts two loads that bake alike the right way round", () => {
    const draft = draftOf(kitchen([2, 2], [{ due: 1000 }, { due: 1400 }]), 3);
    const right = copyPlan(draft.state);
    expect(draft.state.earlyCost + draft.state.lateCost).toBe(0);
    adoptPlan(draft.state, turnedRound(right));
    draft.accept();
    expect(draft.state.lateCost).toBeGreaterThan(0);
    expect(draft.state.earlyCost).toBeGreaterThan(0);
    const plans = outcomes(draft, trade, 40);
    expect(plans.length).toBeGreaterThan(0);
    for (const plan of plans) expect(plan.cost).toBeLessThan(draft.state.cost);
    expect(Math.min(...plans.map(({ cost }) => cost))).toBeLessThanOrEqual(right.cost);
  });

  it("leaves what is locked where it is", () => {
    const model = coreModel(kitchen([2, 2], [{ due: 1000 }, { due: 1400 }]));
    const locked = { ...model, loads: model.loads.map((load, l) => ({ ...load, pinned: l === 0 })) };
    const draft = new Draft(locked, createRng(3));
    construct(draft);
    adoptPlan(draft.state, turnedRound(copyPlan(draft.state)));
    draft.accept();
    expect(draft.state.lateCost).toBeGreaterThan(0);
    expect(outcomes(draft, trade, 40)).toHaveLength(0);
    expect(draft.state.mode.every((mode) => mode >= 0)).toBe(true);
  });

  it("comes to nothing where no exchange helps, or where the loads do not bake alike", () => {
    for (const loads of [
      [{ due: 1000 }, { due: 1400 }],
      [{ due: 1400 }, { due: 1000, bakeC: 220 }],
      [{ due: 1000 }, { due: 1400, pans: 1 }],
    ]) {
      expect(outcomes(draftOf(kitchen([2], loads), 3), trade, 40)).toHaveLength(0);
    }
  });
});

describe("doing another heater's work", () => {
  const loads = Array.from({ length: 8 }, (_, l) => ({ due: 1100 + 10 * l }));

  it("lights a large deck at the minutes of a small one", () => {
    // Both loads of a time fit on the large deck; the first plan is made with it out of bounds.
    const draft = new Draft(coreModel(kitchen([2, 2, 6], loads)), createRng(5));
    construct(draft);
    for (let load = 0; load < loads.length; load++) draft.removeLoad(load);
    for (let load = 0; load < loads.length; load++) {
      draft.inserter.choice.barredHeater = 2;
      expect(draft.insert(load, draft.state.dropCost[load]!)).toBe(true);
    }
    draft.inserter.choice.barredHeater = -1;
    draft.accept();
    const before = litHeaters(draft);
    expect(before[2]).toBe(0);
    const starts = loads.map((_, load) => draft.anchorStart(load));
    let lit = 0;
    for (let i = 0; i < 60; i++) {
      if (otherHeater.apply(draft) && litHeaters(draft)[2]! > 0) {
        lit++;
        loads.forEach((_, load) => {
          expect(draft.anchorStart(load)).toBe(starts[load]);
        });
        expect(draft.state.earlyCost + draft.state.lateCost).toBe(0);
      }
      draft.reject();
    }
    expect(lit).toBeGreaterThan(0);
    expect(litHeaters(draft)).toEqual(before);
  });

  it("does not begin where most would find no place: four pans on a deck of two", () => {
    const wide = loads.map((load) => ({ ...load, pans: 4 }));
    const draft = draftOf(kitchen([4, 2], wide), 2);
    expect(litHeaters(draft)).toEqual([8, 0]);
    // One load may look for another place by itself; more are not lifted.
    for (let i = 0; i < 60; i++) {
      otherHeater.apply(draft);
      expect(draft.waiting.length).toBeLessThanOrEqual(1);
      draft.reject();
    }
    expect(litHeaters(draft)).toEqual([8, 0]);
  });

  it("tells heaters of one kind by room, lead and outages", () => {
    const instance = kitchen([4, 4, 3, 4, 4], loads);
    const decks = instance.decks.map((deck, d) => (d === 3 ? { ...deck, coldStartMin: 50 } : deck));
    const model = coreModel({ ...instance, decks, outages: [{ unit: "D4", from: 900, to: 960 }] });
    expect([...heaterKinds(model)]).toEqual([0, 0, 1, 2, 3]);
  });
});
