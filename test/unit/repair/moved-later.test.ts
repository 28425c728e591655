import { expect, it } from "vitest";
import type { DayDocuments } from "../../../schemas/index.js";
import { repair } from "../../../solver/index.js";
import { demoInForce } from "../../support/demo-in-force.js";
import { loadLp } from "../../support/lp.js";

const lp = await loadLp();

/** A customer comes three hours later and wants it fresh: what is baked for the order is too old by then. */
it("what is too early for an order that was moved serves others or is over, and is not thrown away", {
  timeout: 120_000,
}, async () => {
  const { day, inForce } = await demoInForce();
  let untied = 0;
  let kept = 0;
  for (const at of ["2026-11-27T02:00Z", "2026-11-27T05:00Z"])
    for (const moved of day.orders.lines.filter((_, i) => i % 7 === 0)) {
      const due = new Date(Date.parse(`${moved.due}Z`) + 180 * 60_000).toISOString().slice(0, 16);
      const lines = day.orders.lines.map((line) => (line === moved ? { ...line, freshWithinMinutes: 60 } : line));
      const told: DayDocuments = {
        ...day,
        inForce,
        orders: { ...day.orders, lines },
        happenings: {
          format: "happenings/1",
          at,
          happenings: [{ kind: "order-changed", line: moved.id, due: `${due}Z` }],
        },
      };
      const { timetable, breaches } = repair(told, { iterations: 20, seed: 1, now: () => 0, lp, onlyOne: true });
      const what = `${moved.id} at ${at}`;
      expect(breaches, what).toEqual([]);
      expect(
        timetable.loads.filter(({ scrapped }) => scrapped),
        what,
      ).toEqual([]);
      for (const { id, orders } of inForce.loads) {
        if (!orders.some(({ line }) => line === moved.id)) continue;
        const now = timetable.loads.find((load) => load.id === id);
        if (!now) continue;
        if (now.orders.some(({ line }) => line === moved.id)) kept++;
        else untied++;
      }
    }
  expect(untied).toBeGreaterThan(5);
  expect(kept).toBeGreaterThan(0);
});
