import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { clearFrom, clearUntil } from "../../../solver/search/clearance.js";

/** Spans in order of time that do not overlap. */
const spans = fc
  .uniqueArray(fc.integer({ min: 0, max: 60 }), { maxLength: 6 })
  .map((edges) => edges.sort((a, b) => a - b))
  .map((edges) => Int32Array.from(edges.length % 2 === 0 ? edges : edges.slice(1)));

function isClear(of: Int32Array, start: number, minutes: number): boolean {
  for (let i = 0; i < of.length; i += 2) if (start < of[i + 1]! && of[i]! < start + minutes) return false;
  return true;
}

describe("clear of standstills", () => {
  it("is from the end, and until the start, of the nearest stretch that is long enough: as found by looking at every minute", () => {
    fc.assert(
      fc.property(spans, fc.integer({ min: 0, max: 60 }), fc.integer({ min: 1, max: 20 }), (of, at, minutes) => {
        let start = at;
        while (!isClear(of, start, minutes)) start++;
        expect(clearFrom(of, at, minutes)).toBe(start + minutes);
        let begin = at - minutes;
        while (!isClear(of, begin, minutes)) begin--;
        expect(clearUntil(of, at, minutes)).toBe(begin);
      }),
      { seed: 7, numRuns: 2000 },
    );
  });

  it("is at once where there is nothing to do in between", () => {
    const out = Int32Array.of(10, 20);
    expect([clearFrom(out, 15, 0), clearUntil(out, 15, 0)]).toEqual([15, 15]);
  });
});
