import { describe, expect, it } from "vitest";
import { SharedLog } from "../../services/solving/shared-log.js";
import { pose } from "../../solver/draw.js";
import { createRng } from "../../solver/rng.js";
import { auditState } from "../../solver/search/audit.js";
import { longestChange, writePlan } from "../../solver/search/change.js";
import { construct } from "../../solver/search/construct.js";
import { Draft } from "../../solver/search/draft.js";
import type { SearchModel } from "../../solver/search/model.js";
import { atRandom } from "../../solver/search/moves/at-random.js";
import { mixMove } from "../../solver/search/moves/mix-move.js";
import { nearInTime } from "../../solver/search/moves/near-in-time.js";
import { trade } from "../../solver/search/moves/trade.js";
import { wholeBatch } from "../../solver/search/moves/whole-batch.js";
import { Together } from "../../solver/search/together.js";
import { coreModel } from "../bench/core/adapter.js";
import { heldOut } from "../bench/core/generate.js";
import { randomDay } from "../days/random-day.js";
import { randomModel } from "../oracle/random-model.js";
import { loadLp } from "../support/lp.js";

const lp = await loadLp();
const SCALE = process.env.DECKSHELF_LONG === "1" ? 20 : 1;
const MOVES = [nearInTime, atRandom, wholeBatch, mixMove, trade];
const SEARCHES = 3;

interface Counts {
  added: number;
  /** Made again on top of what others had added meanwhile. */
  again: number;
  givenUp: number;
}

/** Searches of one model in turns drawn by chance: while one has found a change and not added it, others may add theirs. */
function searched(model: SearchModel, seed: number, turns: number, counts: Counts): void {
  const rng = createRng(seed);
  const memory = SharedLog.memory(1 << 16);
  const drafts = Array.from({ length: SEARCHES }, (_, i) => new Draft(model, createRng(seed * SEARCHES + i)));
  const searches: Together[] = [];
  for (const draft of drafts) {
    construct(draft);
    draft.accept();
    // What is dropped counts little, so that loads come and go.
    draft.shortShare = seed % 3 === 0 ? 0.01 : 1;
    const log = new SharedLog(memory);
    // Those that are there welcome whoever comes: in one thread they have to do so before it looks.
    const welcome = log.welcome.bind(log);
    log.welcome = () => {
      searches[rng.below(searches.length)]!.at(0);
      return welcome();
    };
    const search = new Together(draft, () => log);
    search.at(0);
    searches.push(search);
  }
  const turn = (i: number, depth: number): void => {
    const draft = drafts[i]!;
    const search = searches[i]!;
    search.catchUp();
    const before = draft.energy;
    draft.limit = before + rng.below(4) * rng.below(1 + Math.ceil(before / 4));
    if (!MOVES[rng.below(MOVES.length)]!.apply(draft) || !draft.leadsClear() || draft.energy > draft.limit) {
      draft.reject();
      return;
    }
    const had = counts.added;
    while (depth < SEARCHES - 1 && rng.below(3) === 0) turn((i + 1 + rng.below(SEARCHES - 1)) % SEARCHES, SEARCHES);
    const isBehind = counts.added > had;
    if (search.agree()) {
      draft.accept();
      counts.added++;
      if (isBehind) counts.again++;
    } else counts.givenUp++;
    auditState(draft.state);
  };
  for (let t = 0; t < turns; t++) turn(rng.below(SEARCHES), 0);
  for (const search of searches) search.catchUp();
  const plans = drafts.map(({ state }) => {
    const plan = new Int32Array(longestChange(model));
    return plan.subarray(0, writePlan(state, plan));
  });
  const [first, ...others] = plans;
  for (const plan of others) expect(plan, `seed ${seed}`).toEqual(first);
  for (const { state } of drafts) {
    auditState(state);
    model.batches.forEach(({ pinned }, batch) => {
      const isIdle = !pinned && state.mixOption[batch]! >= 0 && state.placedOfBatch[batch] === 0;
      expect(isIdle, `seed ${seed}: batch ${batch} is mixed for nothing`).toBe(false);
    });
  }
}

function expectAll({ added, again, givenUp }: Counts): void {
  expect(added).toBeGreaterThan(100);
  expect(again).toBeGreaterThan(10);
  expect(givenUp).toBeGreaterThan(10);
}

describe("searches of one plan together", () => {
  it("all stand at the same plan, one that can be built from nothing, on random models", () => {
    const counts = { added: 0, again: 0, givenUp: 0 };
    for (let seed = 1; seed <= 100 * SCALE; seed++)
      searched(randomModel(seed, 40, 6, seed % 2 === 0), seed, 40, counts);
    expectAll(counts);
  });

  it("on random days of several sites and core instances", { timeout: 60_000 * SCALE }, () => {
    const counts = { added: 0, again: 0, givenUp: 0 };
    for (let seed = 1; seed <= 40 * SCALE; seed++) {
      const { model } = pose(randomDay(seed, "small"), lp);
      if (model.loads.length > 0) searched(model, seed, 40, counts);
    }
    searched(coreModel(heldOut("S", 1)), 1, 300 * SCALE, counts);
    searched(coreModel(heldOut("M", 1)), 1, 150 * SCALE, counts);
    expectAll(counts);
  });
});
