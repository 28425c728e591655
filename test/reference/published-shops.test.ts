import { describe, expect, it } from "vitest";
import { createRng } from "../../solver/rng.js";
import { construct } from "../../solver/search/construct.js";
import { Draft } from "../../solver/search/draft.js";
import { copyPlan } from "../../solver/search/plan.js";
import { SETS } from "../bench/published/sets.js";
import { checkShop, placedJobs, type Shop, shopModel } from "../bench/published/shop.js";
import { solveShop } from "../bench/published/solve.js";
import { hasReference } from "../support/reference.js";

const TRIES = 1500;
const GREATEST_GAP = 0.25;
/** Small enough to be solved in a second; the bench takes all of them. */
const SMALL = /^(fattahi[2489]\.|kacem[12]|la0[35]|I_2_[46]|3\.txt|hfsd0[24]|ta00[12]|8\.txt$)/;

/** Two jobs on two machines, in opposite orders, with a set-up on the first. */
const TINY: Shop = {
  machines: 2,
  greatestWait: 5,
  jobs: [
    { operations: [[{ machine: 0, minutes: 3 }], [{ machine: 1, minutes: 2 }]] },
    { operations: [[{ machine: 0, minutes: 1 }], [{ machine: 1, minutes: 4 }]] },
  ],
  setups: [
    [
      [0, 2],
      [1, 0],
    ],
    [
      [0, 0],
      [0, 0],
    ],
  ],
};

describe("published shops in the search's terms", () => {
  it("the check of plans sees what is wrong with one", () => {
    const model = shopModel(TINY, 20, 40);
    const draft = new Draft(model, createRng(1));
    construct(draft);
    const placed = placedJobs(TINY, model, copyPlan(draft.state));
    expect(checkShop(TINY, placed)).toEqual([]);
    const at = (starts: readonly (readonly [number, number])[]) =>
      starts.map(([a, b], job) => {
        const [first, second] = TINY.jobs[job]!.operations.map((choice) => choice[0]!.minutes);
        return [
          { machine: 0, start: a, end: a + first! },
          { machine: 1, start: b, end: b + second! },
        ];
      });
    // The second job first, then its set-up of 1, is best: 1 + 1 + 3 + 2.
    expect(
      checkShop(
        TINY,
        at([
          [2, 5],
          [0, 1],
        ]),
      ),
    ).toEqual([]);
    expect(
      checkShop(
        TINY,
        at([
          [1, 5],
          [0, 1],
        ]),
      ).join(),
    ).toContain("too soon");
    expect(
      checkShop(
        TINY,
        at([
          [2, 4],
          [0, 1],
        ]),
      ).join(),
    ).toContain("waits -1");
    expect(
      checkShop(
        TINY,
        at([
          [2, 11],
          [0, 1],
        ]),
      ).join(),
    ).toContain("waits 6");
    expect(
      checkShop(TINY, [
        at([
          [2, 5],
          [0, 1],
        ])[0]!,
        null,
      ]).join(),
    ).toContain("not made");
    expect(solveShop(TINY, (tries) => tries / 200, 1).value).toBe(7);
  });

  // Hardly any value of the tardiness set is proven, and its 50 jobs want more tries than a test has.
  for (const { name, read } of SETS.filter((set) => set.name !== "tardiness_flowshop_vallada")) {
    it.runIf(hasReference(name))(
      `${name}: never below a proven optimum, small ones near it`,
      { timeout: 60_000 },
      () => {
        const small = read().filter((one) => SMALL.test(one.name));
        expect(small.length).toBeGreaterThan(0);
        for (const { name: instance, shop, best, isProven } of small) {
          const { value } = solveShop(shop, (tries) => tries / TRIES, 1);
          // Machines may differ in order here, and so undercut the best permutation.
          const isPermutation = name === "sdst_flowshop_ruiz";
          if (isProven && !isPermutation) expect(value, instance).toBeGreaterThanOrEqual(best);
          if (!isPermutation) expect(value, instance).toBeLessThanOrEqual(best * (1 + GREATEST_GAP));
        }
      },
    );
  }
});
