import { describe, expect, it } from "vitest";
import { Ladder } from "../../../solver/headroom/ladder.js";

/** Climbs with trials that find whatever is no greater than `truth`. */
function climb(truth: number, most: number, lane: number, rungs: number): { best: number; asked: number[] } {
  const ladder = new Ladder({ most, lane, first: 1 });
  const asked: number[] = [];
  let best = 0;
  for (let i = 0; i < rungs; i++) {
    const rung = ladder.next();
    if (!rung) break;
    asked.push(rung.multiple);
    const fits = rung.multiple <= truth;
    if (fits) best = Math.max(best, rung.multiple);
    ladder.tell(rung.multiple, fits, fits ? 1 : 1 - (rung.multiple - truth) / (4 * rung.multiple));
  }
  return { best, asked };
}

describe("the ladder of multiples", () => {
  it("comes within a twentieth of what can be found in seven rungs, from either lane", () => {
    for (const lane of [0, 1])
      for (const most of [0.8, 1.3, 1.9, 3])
        for (const share of [0.4, 0.6, 0.75, 0.9, 1]) {
          const truth = most * share;
          const { best, asked } = climb(truth, most, lane, 7);
          expect(best, `lane ${lane}: ${truth} of ${most}: ${asked.join(" ")}`).toBeGreaterThan(0.95 * truth - 0.02);
          expect(Math.max(...asked.slice(1))).toBeLessThanOrEqual(most);
        }
  });

  it("asks about the day as ordered first, and the lanes about different multiples", () => {
    expect(climb(1.5, 1.9, 0, 1).asked).toEqual([1]);
    expect(climb(1.5, 1.9, 1, 1).asked).toEqual([1.67]);
  });

  it("goes half way where there was no time to bring the limit down", () => {
    const ladder = new Ladder({ most: 2.13, isNarrowed: false, lane: 0, first: 1 });
    ladder.next();
    ladder.tell(1, true, 1);
    expect(ladder.next()!.multiple).toBe(1.45);
  });

  it("goes on from what is sure to what leaves a twentieth between, and asks that once more when all but all was on time", () => {
    const ladder = new Ladder({ most: 1.8, lane: 1, first: 1 });
    const sure = ladder.next()!.multiple;
    ladder.tell(sure, true, 1);
    const aim = ladder.next()!.multiple;
    expect(aim).toBeGreaterThanOrEqual(0.95 * 1.8);
    ladder.tell(aim, false, 0.998);
    expect(ladder.next()!.multiple).toBe(aim);
    ladder.tell(aim, false, 0.998);
    const lesser = ladder.next()!.multiple;
    expect(lesser).toBeGreaterThan(sure);
    expect(lesser).toBeLessThan(aim);
  });

  it("asks again, for longer, when nothing is left between what fits and what failed", () => {
    const ladder = new Ladder({ most: 1.05, lane: 0, first: 1 });
    ladder.next();
    ladder.tell(1, true, 1);
    const first = ladder.next()!;
    ladder.tell(first.multiple, false, 0.99);
    const again = ladder.next()!;
    expect(again.multiple).toBe(first.multiple);
    expect(again.share).toBeGreaterThanOrEqual(first.share);
  });
});
