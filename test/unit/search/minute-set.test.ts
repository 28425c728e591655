import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { createRng } from "../../../solver/rng.js";
import { MinuteSet } from "../../../solver/search/minute-set.js";
import { firstWith, firstWithout, keepClear, lastWithout } from "../../../solver/search/sweeps.js";

const HORIZON = 80;
const stretch = fc
  .tuple(fc.nat(HORIZON - 1), fc.nat(12))
  .map(([from, length]) => [from, Math.min(HORIZON - 1, from + length)] as const);

function setOf(stretches: readonly (readonly [number, number])[]): MinuteSet {
  const set = new MinuteSet(HORIZON);
  for (const [from, to] of stretches) set.add(from, to);
  return set;
}

function minutesOf(set: MinuteSet): number[] {
  const minutes: number[] = [];
  for (let n = 0; n < set.count; n++) for (let t = set.from[n]!; t <= set.to[n]!; t++) minutes.push(t);
  return minutes;
}

describe("sets of minutes", () => {
  it("hold what was added, in any order, as stretches that do not touch", () => {
    fc.assert(
      fc.property(fc.array(stretch, { maxLength: 12 }), (stretches) => {
        const set = setOf(stretches);
        const plain = new Set(
          stretches.flatMap(([from, to]) => Array.from({ length: to - from + 1 }, (_, i) => from + i)),
        );
        expect(minutesOf(set)).toEqual([...plain].sort((a, b) => a - b));
        for (let n = 1; n < set.count; n++) expect(set.from[n]!).toBeGreaterThan(set.to[n - 1]! + 1);
      }),
      { numRuns: 2000 },
    );
  });

  it("find the nearest minute either way, and pick only what is there", () => {
    fc.assert(
      fc.property(
        fc.array(stretch, { maxLength: 6 }),
        fc.nat(HORIZON),
        fc.nat(HORIZON),
        fc.nat(1e6),
        (stretches, a, b, seed) => {
          const set = setOf(stretches);
          const minutes = minutesOf(set);
          const low = Math.min(a, b);
          const high = Math.max(a, b);
          expect(set.atOrBefore(a)).toBe(minutes.filter((t) => t <= a).at(-1) ?? -1);
          expect(set.atOrAfter(a)).toBe(minutes.find((t) => t >= a) ?? -1);
          const within = minutes.filter((t) => t >= low && t <= high);
          const rng = createRng(seed);
          for (const picked of [set.pick(low, high, rng), set.pickEdge(low, high, rng)]) {
            if (within.length === 0) expect(picked).toBe(-1);
            else expect(within).toContain(picked);
          }
        },
      ),
      { numRuns: 2000 },
    );
  });

  it("keep the starts from which a row is clear, and the sweeps find what a filter finds", () => {
    const row = fc.array(fc.nat(2), { minLength: HORIZON, maxLength: HORIZON });
    fc.assert(
      fc.property(
        row,
        fc.array(stretch, { maxLength: 4 }),
        fc.nat(9),
        fc.integer({ min: 1, max: 2 }),
        (values, stretches, minutes, amount) => {
          const free = Int32Array.from([...new Array<number>(HORIZON).fill(0), ...values]);
          const starts = setOf(stretches);
          const kept = new MinuteSet(HORIZON);
          keepClear(starts, free, HORIZON, 1, amount, minutes, kept);
          const isClear = (t: number): boolean =>
            t + minutes <= HORIZON && values.slice(t, t + minutes).every((value) => value >= amount);
          expect(minutesOf(kept)).toEqual(minutesOf(starts).filter(isClear));
          const bad = values.findIndex((value) => value < amount);
          expect(firstWithout(free, HORIZON, amount, 0, HORIZON)).toBe(bad < 0 ? HORIZON : bad);
          const good = values.findIndex((value) => value >= amount);
          expect(firstWith(free, HORIZON, amount, 0, HORIZON)).toBe(good < 0 ? HORIZON : good);
          expect(lastWithout(free, HORIZON, amount, 0, HORIZON)).toBe(values.findLastIndex((value) => value < amount));
        },
      ),
      { numRuns: 2000 },
    );
  });
});
