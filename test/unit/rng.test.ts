import { describe, expect, it } from "vitest";
import { createRng, fromState } from "../../solver/rng.js";

describe("random numbers", () => {
  /** Source: the reference C code of xoshiro128** 1.1 (Blackman & Vigna); first outputs from state 1, 2, 3, 4,
   * from memory; the first is rotl(2 * 5, 7) * 9. */
  it("are those of xoshiro128**", () => {
    const rng = fromState(1, 2, 3, 4);
    expect([rng.uint32(), rng.uint32()]).toEqual([11520, 0]);
  });

  it("are the same for the same seed, and spread over their range", () => {
    const a = createRng(42);
    const b = createRng(42);
    const counts = new Array<number>(10).fill(0);
    for (let i = 0; i < 20_000; i++) {
      const value = a.below(10);
      expect(value).toBe(b.below(10));
      counts[value] = counts[value]! + 1;
    }
    for (const count of counts) expect(Math.abs(count - 2000)).toBeLessThan(250);
    expect(createRng(1).uint32()).not.toBe(createRng(2).uint32());
  });
});
