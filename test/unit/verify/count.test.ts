import { describe, expect, it } from "vitest";
import { layoutRectangles, layoutRounds } from "../../../solver/geometry/index.js";
import { createRng } from "../../../solver/rng.js";
import { mostRectangles, mostRounds } from "../../../solver/verify/most.js";
import { hasReference, known } from "../../support/reference.js";

/**
 * The verifier counts for itself. Where it counts fewer than the layout drawn it refuses a good plan; where it counts more
 * it lets a pan too many pass.
 */
describe("the verifier's count against the layout drawn", () => {
  const rng = createRng(77);
  const between = (low: number, high: number): number => low + rng.below(high - low + 1);

  it("is the same for pans and tubs on decks and shelves", () => {
    const apart: string[] = [];
    for (let i = 0; i < 1500; i++) {
      const [w, d] = [between(50, 190) * 10, between(40, 110) * 10];
      const [a, b] = [between(28, 72) * 10 + rng.below(2) * 5, between(26, 46) * 10 + rng.below(2) * 7];
      const gap = [0, 10, 20, 30][rng.below(4)]!;
      const drawn = layoutRectangles(w, d, a, b, gap, gap).count;
      const own = mostRectangles(w, d, a, b, gap, gap);
      if (drawn !== own) apart.push(`${w} x ${d}, ${a} x ${b}, gap ${gap}: drawn ${drawn}, counted ${own}`);
    }
    expect(apart).toEqual([]);
  });

  it("is the same for oblong pieces on pans", { timeout: 60_000 }, () => {
    const apart: string[] = [];
    for (let i = 0; i < 100; i++) {
      const [w, d] = [between(30, 66) * 10, between(28, 46) * 10];
      const [a, b] = [between(60, 240), between(40, 130)];
      const drawn = layoutRectangles(w, d, a, b, 15, 10).count;
      const own = mostRectangles(w, d, a, b, 15, 10);
      if (drawn !== own) apart.push(`${w} x ${d}, ${a} x ${b}: drawn ${drawn}, counted ${own}`);
    }
    expect(apart).toEqual([]);
  });

  it("is never fewer, however many small boxes there are", { timeout: 120_000 }, () => {
    const sizes = [[985, 617, 73, 93, 20]];
    for (let i = 0; i < 100; i++)
      sizes.push([between(200, 1800), between(200, 1100), between(60, 560), between(50, 450), 10 * rng.below(3)]);
    for (const [w, d, a, b, gap] of sizes as [number, number, number, number, number][]) {
      const drawn = layoutRectangles(w, d, a, b, gap, 0).count;
      const own = mostRectangles(w, d, a, b, gap, 0);
      expect(own, `${w} x ${d}, ${a} x ${b}, gap ${gap}`).toBeGreaterThanOrEqual(drawn);
      expect(own).toBeLessThanOrEqual(Math.floor(((w + gap) * (d + gap)) / ((a + gap) * (b + gap)) + 1e-6));
    }
  });

  it("is the same for round pieces on pans", () => {
    const apart: string[] = [];
    for (let i = 0; i < 3000; i++) {
      const [w, d, diameter, gap, edge] = [between(250, 700), between(200, 500), between(35, 260), between(0, 50), 10];
      const drawn = layoutRounds(w, d, diameter, gap, edge).count;
      const own = mostRounds(w, d, diameter, gap, edge);
      if (drawn !== own) apart.push(`${w} x ${d}, ${diameter}, gap ${gap}: drawn ${drawn}, counted ${own}`);
    }
    expect(apart).toEqual([]);
  });

  /** Source: pallet_rectangles of the reference folder: counts proved optimal by the Barnes and area bounds. */
  it.runIf(hasReference("pallet_rectangles"))("is never above a proven optimum", { timeout: 60_000 }, () => {
    for (const row of known("pallet_rectangles", "pallets.csv")) {
      const [x, y, a, b] = [row.X, row.Y, row.a, row.b].map(Number) as [number, number, number, number];
      const own = mostRectangles(x, y, a, b, 0, 0);
      expect(own, row.instance).toBeLessThanOrEqual(Number(row.optimal_count_90deg_rotation_allowed));
    }
  });
});
