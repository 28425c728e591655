import { describe, expect, it } from "vitest";
import { pose } from "../../solver/draw.js";
import { createRng } from "../../solver/rng.js";
import { construct } from "../../solver/search/construct.js";
import { Draft } from "../../solver/search/draft.js";
import { atRandom } from "../../solver/search/moves/at-random.js";
import { deckString } from "../../solver/search/moves/deck-string.js";
import { heaterEdge } from "../../solver/search/moves/heater-edge.js";
import { mixMove } from "../../solver/search/moves/mix-move.js";
import { mixSwap } from "../../solver/search/moves/mix-swap.js";
import { nearInTime } from "../../solver/search/moves/near-in-time.js";
import { otherHeater } from "../../solver/search/moves/other-heater.js";
import { trade } from "../../solver/search/moves/trade.js";
import { unmade } from "../../solver/search/moves/unmade.js";
import { wholeBatch } from "../../solver/search/moves/whole-batch.js";
import { copyPlan, rebuild } from "../../solver/search/plan.js";
import { recreate } from "../../solver/search/recreate.js";
import type { State } from "../../solver/search/state.js";
import { randomDay } from "../days/random-day.js";
import { loadLp } from "../support/lp.js";

const MOVES = [nearInTime, deckString, heaterEdge, wholeBatch, atRandom, unmade, mixMove, mixSwap, trade, otherHeater];
const lp = await loadLp();

function parts(state: State) {
  return [state.shortCost, state.lateCost, state.earlyCost, state.overtimeCost, state.tripCost, state.heaters.cost];
}

const bytes = ({ buffer, byteOffset, byteLength }: Int32Array): Buffer => Buffer.from(buffer, byteOffset, byteLength);

function expectSame(a: State, b: State, what: string): void {
  expect(parts(a), what).toEqual(parts(b));
  expect(Buffer.compare(bytes(a.free), bytes(b.free)), what).toBe(0);
  expect([...a.mode], what).toEqual([...b.mode]);
}

describe("the search's state", () => {
  it("after any move is what a state built anew is, and after a move taken back what it was", {
    timeout: 240_000,
  }, () => {
    let moves = 0;
    for (let seed = 1; seed <= 120; seed++) {
      const { model } = pose(randomDay(seed, "small"), lp);
      const draft = new Draft(model, createRng(seed));
      construct(draft);
      if (model.loads.length === 0) continue;
      for (let i = 0; i < 20; i++) {
        const move = MOVES[i % MOVES.length]!;
        const before = rebuild(model, copyPlan(draft.state));
        const kept = move.apply(draft) && seed % 2 === 0;
        if (kept) {
          draft.accept();
          expectSame(draft.state, rebuild(model, copyPlan(draft.state)), `seed ${seed} ${move.name} kept`);
        } else {
          draft.reject();
          expectSame(draft.state, before, `seed ${seed} ${move.name} taken back`);
        }
        moves++;
      }
    }
    expect(moves).toBeGreaterThan(1000);
  });

  it("free of everything again gives back the capacity that it started from", { timeout: 60_000 }, () => {
    for (let seed = 200; seed < 230; seed++) {
      const { model } = pose(randomDay(seed, "small"), lp);
      const draft = new Draft(model, createRng(seed));
      construct(draft);
      for (let batch = 0; batch < model.batches.length; batch++) draft.removeBatch(batch);
      expect(Buffer.compare(bytes(draft.state.free), bytes(model.capacity))).toBe(0);
      recreate(draft);
      draft.reject();
    }
  });
});
