import { describe, expect, it } from "vitest";
import { createRng } from "../../../solver/rng.js";
import { anneal } from "../../../solver/search/anneal.js";
import { construct } from "../../../solver/search/construct.js";
import { Draft } from "../../../solver/search/draft.js";
import type { SearchModel } from "../../../solver/search/model.js";
import { atRandom } from "../../../solver/search/moves/at-random.js";
import { rebuild } from "../../../solver/search/plan.js";
import type { State } from "../../../solver/search/state.js";
import { coreModel } from "../../bench/core/adapter.js";
import { heldOut } from "../../bench/core/generate.js";

/** Setpoint changes per heater, counted anew. */
function changesOf({ heaters, model }: State): number[] {
  return model.heaters.map((_, h) => {
    let changes = 0;
    for (let i = heaters.from(h) + 1; i < heaters.until(h); i++)
      if (heaters.classes[i] !== heaters.classes[i - 1]) changes++;
    return changes;
  });
}

const sum = (numbers: readonly number[]): number => numbers.reduce((a, b) => a + b, 0);

function drafted(model: SearchModel): Draft {
  const draft = new Draft(model, createRng(3));
  construct(draft);
  return draft;
}

describe("a search that is steered", () => {
  const plain = coreModel(heldOut("M", 3));
  /** A change of the first heaters costs more than lighting them. */
  const model = {
    ...plain,
    heaters: plain.heaters.map((heater, h) => ({ ...heater, changeCost: h < 3 ? 500 : 7 })),
  };

  it("counts changes of setpoint where lighting is dearer, and no plan costs more or less by it", () => {
    const draft = drafted(model);
    const { state } = draft;
    const { cost } = state;
    expect(sum(changesOf(state))).toBeGreaterThan(3);
    state.heaters.steer(1.5);
    expect(state.cost).toBe(cost);
    let kept = 0;
    for (let i = 0; i < 200; i++) {
      if (atRandom.apply(draft) && i % 2 === 0) {
        draft.accept();
        kept++;
      } else draft.reject();
      const changes = changesOf(state);
      const more = model.heaters.map(({ leadMinutes, costPerMinute, changeCost }) =>
        Math.max(0, 1.5 * leadMinutes * costPerMinute - changeCost),
      );
      expect(state.heaters.steering).toBe(sum(changes.map((count, h) => count * more[h]!)));
      expect(draft.energy).toBe(state.cost + state.heaters.steering);
    }
    expect(kept).toBeGreaterThan(20);
    state.heaters.steer(0);
    expect(state.heaters.steering).toBe(0);
    expect([...state.heaters.changeWeights]).toEqual(model.heaters.map(({ changeCost }) => changeCost));
  });

  it("leaves a plan with fewer changes, by what it costs, and is over in the end", () => {
    const tries = 1500;
    const changes = [0, 3].map((steered) =>
      sum(
        [1, 2, 3, 4, 5, 6].map((seed) => {
          const draft = new Draft(plain, createRng(seed));
          construct(draft);
          const { best } = anneal(draft, { progress: (i) => i / tries, hot: 1, cold: 0.03, shortShare: 0.25, steered });
          expect(draft.state.heaters.steeredBy).toBe(0);
          const built = rebuild(plain, best);
          expect(built.cost).toBe(best.cost);
          return sum(changesOf(built));
        }),
      ),
    );
    expect(changes[1]).toBeLessThan(changes[0]!);
  });
});
