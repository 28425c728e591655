import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { type Layout, layoutRectangles, layoutRounds, MOST_PLACES } from "../../../solver/geometry/index.js";
import { boxBound } from "../../../solver/geometry/rectangles.js";
import { mostRectangles, mostRounds } from "../../../solver/verify/most.js";
import { hasReference, known } from "../../support/reference.js";

/** Not reached by five blocks three deep; none is a size of pan on an ordinary deck. */
const NOT_REACHED = new Set(["birgin_example"]);

function overlapFree(layout: Layout, width: number, depth: number, gap: number, edge: number, round: boolean): void {
  const slack = 1e-6;
  layout.places.forEach((a, i) => {
    expect(a.xMm).toBeGreaterThanOrEqual(edge - slack);
    expect(a.yMm).toBeGreaterThanOrEqual(edge - slack);
    expect(a.xMm + a.widthMm).toBeLessThanOrEqual(width - edge + slack);
    expect(a.yMm + a.depthMm).toBeLessThanOrEqual(depth - edge + slack);
    for (const b of layout.places.slice(i + 1)) {
      if (round) expect(Math.hypot(a.xMm - b.xMm, a.yMm - b.yMm)).toBeGreaterThanOrEqual(a.widthMm + gap - 1e-5);
      else {
        const apart = Math.max(
          a.xMm - b.xMm - b.widthMm,
          b.xMm - a.xMm - a.widthMm,
          a.yMm - b.yMm - b.depthMm,
          b.yMm - a.yMm - a.depthMm,
        );
        expect(apart).toBeGreaterThanOrEqual(gap - slack);
      }
    }
  });
  expect(layout.places.length).toBe(layout.count);
}

/** Source: pallet_rectangles of the reference folder: counts proved optimal by the Barnes and area bounds. */
describe.runIf(hasReference("pallet_rectangles"))("rectangles against proven optima", () => {
  const rows = known("pallet_rectangles", "pallets.csv");

  it("reaches the optimum on every ordinary size, and never exceeds one", { timeout: 60_000 }, () => {
    const missed: string[] = [];
    for (const row of rows) {
      const [x, y, a, b, optimum] = [row.X, row.Y, row.a, row.b, row.optimal_count_90deg_rotation_allowed].map(
        Number,
      ) as [number, number, number, number, number];
      const { count } = layoutRectangles(x, y, a, b, 0, 0);
      expect(count, JSON.stringify(row)).toBeLessThanOrEqual(optimum);
      if (count < optimum) missed.push(`${row.instance}: ${count} of ${optimum}`);
    }
    expect(missed.filter((text) => !NOT_REACHED.has(text.split(":")[0]!))).toEqual([]);
  });
});

describe("rectangles", () => {
  it("lie apart, inside, and never beyond the bound", { timeout: 60_000 }, () => {
    const measure = fc.integer({ min: 40, max: 1500 });
    fc.assert(
      fc.property(
        measure,
        measure,
        fc.integer({ min: 30, max: 700 }),
        fc.integer({ min: 30, max: 700 }),
        fc.integer({ min: 0, max: 25 }),
        fc.integer({ min: 0, max: 25 }),
        (w, d, a, b, gap, edge) => {
          const layout = layoutRectangles(w, d, a, b, gap, edge);
          if (layout.count <= 150) overlapFree(layout, w, d, gap, edge, false);
          const bound = boxBound(Math.max(0, w - 2 * edge + gap), Math.max(0, d - 2 * edge + gap), a + gap, b + gap);
          expect(layout.count).toBeLessThanOrEqual(Math.max(0, bound));
          expect(layoutRectangles(d, w, a, b, gap, edge).count).toBe(layout.count);
          expect(layoutRectangles(w, d, b, a, gap, edge).count).toBe(layout.count);
        },
      ),
      { seed: 21, numRuns: 40 },
    );
  });

  it("finds the mixed layouts that one orientation misses", () => {
    expect(layoutRectangles(1000, 600, 400, 200, 0, 0)).toMatchObject({ count: 7 });
    expect(layoutRectangles(400, 400, 300, 100, 0, 0)).toMatchObject({ count: 5, pattern: "mixed" });
  });

  /** Worked out by hand: pans on decks 1200 x 800 and 1372 x 940 in one orientation; a mixed layout may hold more. */
  it("holds at least the pans that a single orientation holds", () => {
    const pans = { full: [660, 457], half: [457, 330], bakery: [600, 400], gn: [530, 325] } as const;
    const expected = [
      [1200, 800, { full: 2, half: 4, bakery: 4, gn: 4 }],
      [1372, 940, { full: 4, half: 8, bakery: 4, gn: 4 }],
    ] as const;
    for (const [w, d, counts] of expected) {
      for (const [name, least] of Object.entries(counts)) {
        const [a, b] = pans[name as keyof typeof pans];
        expect(layoutRectangles(w, d, a, b, 0, 0).count, `${name} on ${w} x ${d}`).toBeGreaterThanOrEqual(least);
      }
    }
  });
});

describe("rounds", () => {
  /** Worked out by hand: square / staggered counts, 10 mm edge; pans: full sheet 18 x 26 in (ckbk.com), GN (EN 631). */
  const TABLE = [
    [110, 25, [12, 13], [6, 5], [8, 11], [6, 6]],
    [100, 20, [15, 18], [6, 8], [12, 13], [8, 8]],
    [75, 25, [24, 25], [12, 11], [15, 20], [15, 14]],
    [60, 40, [24, 30], [12, 13], [24, 22], [15, 14]],
  ] as const;
  const AREAS = [
    [640, 437],
    [437, 310],
    [580, 380],
    [510, 305],
  ] as const;

  it("holds at least the better of the square and the hexagonal layout of the trade's table", () => {
    for (const [diameter, gap, ...counts] of TABLE) {
      counts.forEach((pair, i) => {
        const [w, d] = AREAS[i]!;
        expect(layoutRounds(w, d, diameter, gap, 10).count, `${diameter} on ${w} x ${d}`).toBeGreaterThanOrEqual(
          Math.max(...pair),
        );
      });
    }
  });

  /** Source: Groemer (1960), from memory: centres at mutual distance p in a convex region number at most 2A/(sqrt(3)p^2) + P/(2p) + 1. */
  it("lie apart, inside, and never beyond Groemer's bound", { timeout: 60_000 }, () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 100, max: 900 }),
        fc.integer({ min: 100, max: 700 }),
        fc.integer({ min: 55, max: 250 }),
        fc.integer({ min: 0, max: 40 }),
        fc.integer({ min: 0, max: 15 }),
        (w, d, diameter, gap, edge) => {
          const layout = layoutRounds(w, d, diameter, gap, edge);
          overlapFree(layout, w, d, gap, edge, true);
          const x = w - 2 * edge - diameter;
          const y = d - 2 * edge - diameter;
          const p = diameter + gap;
          const bound =
            x < 0 || y < 0 ? 0 : Math.floor((2 / Math.sqrt(3)) * ((x * y) / p ** 2) + (x + y) / p + 1 + 1e-9);
          expect(layout.count).toBeLessThanOrEqual(bound);
          expect(layoutRounds(d, w, diameter, gap, edge).count).toBe(layout.count);
        },
      ),
      { seed: 22, numRuns: 120 },
    );
  });
});

/** Each of them took minutes, or for ever, when every way to lay it out was gone through. */
describe("measures far from any kitchen", () => {
  it.each([
    ["a speck on an area of 100 m", 100_000, 100_000, 1e-9, 5, 0],
    ["a tenth of a millimetre on a stamp", 5, 5, 0.1, 0.1, 0],
    ["long strips", 897, 396, 451, 20, 1],
    ["thousands in one row", 100_000, 20, 21, 10.3, 0],
    ["sides nearly alike", 100_000, 100_000, 1000, 1000.1, 0],
    ["a grid of thousands", 1553.95, 2180.46, 27.81, 36.42, 2],
  ] as const)("%s are laid out as far as anybody would, and no more than the verifier allows", (_, w, d, a, b, gap) => {
    const boxes = layoutRectangles(w, d, a, b, gap, 0);
    expect(boxes.count).toBeLessThanOrEqual(MOST_PLACES);
    expect(boxes.count).toBeGreaterThan(0);
    expect(boxes.count).toBeLessThanOrEqual(mostRectangles(w, d, a, b, gap, 0));
    const rounds = layoutRounds(w, d, a, gap, 0);
    expect(rounds.count).toBeLessThanOrEqual(MOST_PLACES);
    expect(rounds.count).toBeLessThanOrEqual(mostRounds(w, d, a, gap, 0));
  });
});
