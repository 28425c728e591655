import { describe, expect, it } from "vitest";
import { readPlan } from "../../../services/board/logic/plan.js";
import { printedPages, stripsOf } from "../../../services/board/logic/printed-pages.js";
import { stationRows } from "../../../services/board/logic/rows/stations.js";
import { demoDay } from "./plan-fixture.js";

const HOUR = 3_600_000;

describe("the timetable on paper", { timeout: 60_000 }, () => {
  it("has every bar of every row in all of its hours once, on pages that begin with their site and are not too high", async () => {
    const { day, timetable } = await demoDay();
    const plan = readPlan(day, timetable);
    const rows = stationRows(plan, new Set(), new Set());
    const pages = printedPages(rows, plan.span, { hours: 6, heightPx: 610, roomy: 1.5 });
    let drawnMs = 0;
    for (const { span, rows: laid, height } of pages) {
      expect(laid[0]!.row.station).toBe("site");
      expect(height).toBeLessThanOrEqual(610);
      let site = "";
      for (const { row } of laid) {
        if (row.station === "site") site = row.site;
        expect(row.site).toBe(site);
        for (const bar of row.bars)
          drawnMs += Math.max(0, Math.min(bar.toMs, span.toMs) - Math.max(bar.fromMs, span.fromMs));
      }
    }
    const wholeMs = rows.flatMap((row) => row.bars).reduce((sum, bar) => sum + bar.toMs - bar.fromMs, 0);
    expect(drawnMs).toBe(wholeMs);
    expect(new Set(pages.flatMap(({ rows: laid }) => laid.map(({ row }) => row.id))).size).toBeGreaterThan(20);
  });

  it("cuts the day into equal parts of whole hours", () => {
    const parts = stripsOf({ fromMs: 0, toMs: 26 * HOUR }, 6);
    expect(parts.map(({ fromMs }) => fromMs / HOUR)).toEqual([0, 6, 12, 18, 24]);
    expect(stripsOf({ fromMs: 0, toMs: 7 * HOUR }, 6).map(({ fromMs }) => fromMs / HOUR)).toEqual([0, 4]);
  });
});
