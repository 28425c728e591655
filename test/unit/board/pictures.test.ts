import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { packLanes, runs } from "../../../services/board/logic/lanes.js";
import { levelAt, mostIn, staircase } from "../../../services/board/logic/levels.js";
import { LEAST_MS, msAt, panned, tickStep, within, xOf, zoomed } from "../../../services/board/logic/scale.js";

const stays = fc.array(
  fc
    .record({ fromMs: fc.integer({ min: 0, max: 200 }), length: fc.integer({ min: 1, max: 60 }) })
    .map(({ fromMs, length }) => ({
      fromMs,
      toMs: fromMs + length,
    })),
  { maxLength: 40 },
);

describe("lanes", { timeout: 60_000 }, () => {
  it("no two stays of a lane overlap, and there are as many lanes as stays at the busiest instant", () => {
    fc.assert(
      fc.property(stays, (all) => {
        const { lanes, count } = packLanes(all);
        for (let a = 0; a < all.length; a++)
          for (let b = a + 1; b < all.length; b++)
            if (lanes[a] === lanes[b])
              expect(all[a]!.toMs <= all[b]!.fromMs || all[b]!.toMs <= all[a]!.fromMs).toBe(true);
        const busiest = Math.max(
          1,
          ...all.map((stay) => all.filter((other) => other.fromMs <= stay.fromMs && other.toMs > stay.fromMs).length),
        );
        expect(count).toBe(busiest);
      }),
    );
  });

  it("wide stays take neighbouring lanes of their own", () => {
    const all = [
      { fromMs: 0, toMs: 10 },
      { fromMs: 5, toMs: 15 },
      { fromMs: 10, toMs: 20 },
    ];
    expect(packLanes(all, () => 2)).toEqual({ lanes: [0, 2, 0], count: 4 });
  });

  it("writes positions as runs", () => {
    expect(runs([3, 1, 2, 7])).toEqual([
      [1, 3],
      [7, 7],
    ]);
    expect(runs([])).toEqual([]);
  });
});

describe("levels", { timeout: 60_000 }, () => {
  const uses = fc.array(
    fc.record({
      fromMs: fc.integer({ min: 0, max: 100 }),
      toMs: fc.integer({ min: 0, max: 100 }),
      amount: fc.integer({ min: 0, max: 5 }),
    }),
    { maxLength: 20 },
  );
  it("at every instant the staircase is the sum of what is in use", () => {
    fc.assert(
      fc.property(uses, (all) => {
        const levels = staircase(all);
        for (let ms = -1; ms <= 101; ms++) {
          const sum = all
            .filter((use) => use.fromMs <= ms && ms < use.toMs)
            .reduce((total, use) => total + use.amount, 0);
          expect(levelAt(levels, ms)).toBe(sum);
        }
      }),
    );
  });

  it("gives the greatest of a span", () => {
    const levels = staircase([
      { fromMs: 0, toMs: 10, amount: 2 },
      { fromMs: 4, toMs: 6, amount: 3 },
    ]);
    expect(mostIn(levels, 0, 4)).toBe(2);
    expect(mostIn(levels, 0, 5)).toBe(5);
    expect(mostIn(levels, 6, 20)).toBe(2);
  });
});

describe("the scale of time", { timeout: 60_000 }, () => {
  const day = { fromMs: 0, toMs: 26 * 3_600_000 };
  const spans = fc
    .record({
      fromMs: fc.integer({ min: 0, max: 20 * 3_600_000 }),
      length: fc.integer({ min: LEAST_MS, max: 6 * 3_600_000 }),
    })
    .map((s) => ({
      fromMs: s.fromMs,
      toMs: s.fromMs + s.length,
    }));

  it("pixels and instants turn into each other", () => {
    const view = { fromMs: 1000, toMs: 61_000, widthPx: 600 };
    expect(xOf(view, 31_000)).toBe(300);
    expect(msAt(view, 300)).toBe(31_000);
  });

  it("zoom and pan stay inside the day and never come closer than five minutes", () => {
    fc.assert(
      fc.property(
        spans,
        fc.double({ min: 0.01, max: 50, noNaN: true }),
        fc.integer({ min: -1e9, max: 1e9 }),
        (span, factor, by) => {
          for (const next of [
            zoomed(span, factor, (span.fromMs + span.toMs) / 2, day),
            panned(span, by, day),
            within(span, day),
          ]) {
            expect(next.fromMs).toBeGreaterThanOrEqual(day.fromMs);
            expect(next.toMs).toBeLessThanOrEqual(day.toMs + 1e-3);
            expect(next.toMs - next.fromMs).toBeGreaterThanOrEqual(LEAST_MS - 1e-3);
          }
        },
      ),
    );
  });

  it("what is under the pointer stays there while zooming", () => {
    const span = { fromMs: 4 * 3_600_000, toMs: 8 * 3_600_000 };
    const anchor = 5 * 3_600_000;
    const next = zoomed(span, 0.5, anchor, day);
    expect((anchor - next.fromMs) / (next.toMs - next.fromMs)).toBeCloseTo(0.25, 9);
  });

  it("labels never touch", () => {
    for (const hours of [0.1, 0.5, 1, 2, 6, 12, 26]) {
      const view = { fromMs: 0, toMs: hours * 3_600_000, widthPx: 700 };
      const step = tickStep(view);
      if (step < 360) expect((step * 60_000 * 700) / (hours * 3_600_000)).toBeGreaterThanOrEqual(54);
    }
  });
});
