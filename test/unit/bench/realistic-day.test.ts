import { describe, expect, it } from "vitest";
import { validateDocument } from "../../../schemas/validate.js";
import { checkDay } from "../../../solver/check/index.js";
import { draw } from "../../../solver/index.js";
import { realisticDay } from "../../bench/days/realistic-day.js";
import { loadLp } from "../../support/lp.js";

const lp = await loadLp();

describe("realistic days", () => {
  it("are the same for the same seed, and others for another", () => {
    expect(realisticDay(3, 50)).toEqual(realisticDay(3, 50));
    expect(realisticDay(3, 50)).not.toEqual(realisticDay(4, 50));
  });

  it("of every size and seed are valid documents and pass the checks of a day", { timeout: 60_000 }, () => {
    for (const loads of [50, 200, 600, 2000]) {
      for (const seed of loads < 1000 ? [1, 2] : [1]) {
        const day = realisticDay(seed, loads);
        for (const kind of ["network", "catalogue", "orders", "happenings", "settings"] as const)
          expect(validateDocument(kind, day[kind]), `${kind} ${loads}-${seed}`).toEqual([]);
        expect(checkDay(day), `${loads}-${seed}`).toEqual([]);
      }
    }
  });

  it("have as many loads as asked for, and most can be on time", { timeout: 60_000 }, () => {
    for (const seed of [2, 3]) {
      const day = realisticDay(seed, 50);
      const { timetable, breaches } = draw(day, { iterations: 800, seed, now: () => 0, lp });
      expect(breaches).toEqual([]);
      expect(timetable.loads.length).toBeGreaterThan(43);
      expect(timetable.loads.length).toBeLessThan(60);
      const onTime = timetable.orders.filter((order) => order.state === "on-time").length;
      expect(onTime / timetable.orders.length, `seed ${seed}`).toBeGreaterThan(0.85);
    }
  });
});
