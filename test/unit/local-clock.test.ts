import { beforeAll, describe, expect, it } from "vitest";
import type { Change, Changes, DayDocuments, Timetable, Whereabouts } from "../../schemas/index.js";
import { HOUR, hhmm, hhmmSpan, MINUTE } from "../../services/board/logic/clock.js";
import { formatterOf } from "../../services/sheets/format.js";
import { sheetsHtml } from "../../services/sheets/html.js";
import { changesText } from "../../services/text/changes.js";
import { siteText } from "../../services/text/stations.js";
import { instantMinute } from "../../solver/calendar.js";
import { clocksChange, LocalClock, spanText } from "../../solver/local-clock.js";
import { sheetsOf } from "../../solver/sheets/index.js";
import { drawn } from "../support/drawn.js";
import { earlier } from "../support/earlier.js";

const ZONE = "Europe/Dublin";
const at = (instant: string): number => instantMinute(instant);

// The night of 25 October 2026: 02:00 +01:00 becomes 01:00 +00:00.
const OVER = { fromMinute: at("2026-10-24T12:00:00+01:00"), toMinute: at("2026-10-25T14:00:00+00:00") };
const PLAIN = { fromMinute: at("2026-11-26T12:00:00Z"), toMinute: at("2026-11-27T14:00:00Z") };

describe("times of a day for people", () => {
  it("carry their offset where the clocks of the zone change inside the window, and nowhere else", () => {
    const over = new LocalClock(ZONE, OVER);
    expect(over.time(at("2026-10-25T00:37:00Z"))).toBe("01:37 +01:00");
    expect(over.time(at("2026-10-25T01:37:00Z"))).toBe("01:37 +00:00");
    expect(over.time(at("2026-10-24T13:30:00Z"))).toBe("14:30 +01:00");
    expect(new LocalClock(ZONE, PLAIN).time(at("2026-11-27T01:37:00Z"))).toBe("01:37");
    expect(clocksChange("Asia/Tokyo", OVER)).toBe(false);
    expect(clocksChange("America/New_York", OVER)).toBe(false);
    expect(clocksChange(ZONE, { fromMinute: at("2026-10-24T00:00:00Z"), toMinute: at("2026-10-25T00:59:00Z") })).toBe(
      false,
    );
  });

  it("a span has both offsets or none", () => {
    expect(spanText("03:22", "03:47")).toBe("03:22-03:47");
    expect(spanText("14:30 +01:00", "04:28 +00:00")).toBe("14:30 +01:00 to 04:28 +00:00");
  });

  it("on the board: within a shift of the change, and at both ends of what stands over it", () => {
    const change = Date.parse("2026-10-25T01:00Z");
    expect(hhmm(ZONE, change - 23 * MINUTE)).toBe("01:37 +01:00");
    expect(hhmm(ZONE, change + 37 * MINUTE)).toBe("01:37 +00:00");
    expect(hhmm(ZONE, change + 9 * HOUR)).toBe("10:00");
    expect(hhmm(ZONE, change - 9 * HOUR)).toBe("17:00");
    expect(hhmmSpan(ZONE, { fromMs: change - 11 * HOUR, toMs: change + 10 * HOUR })).toBe("15:00 +01:00–11:00 +00:00");
    expect(hhmmSpan(ZONE, { fromMs: change + 10 * HOUR, toMs: change + 11 * HOUR })).toBe("11:00–12:00");
    expect(hhmm("Asia/Tokyo", change)).toBe("10:00");
  });
});

describe("a day over the night on which clocks go back", { timeout: 60_000 }, () => {
  let day: DayDocuments;
  let plain: Timetable;
  let over: Timetable;

  beforeAll(async () => {
    ({ day, timetable: plain } = await drawn("ordinary-day"));
    over = earlier(plain, 33, ZONE);
    expect(over.window.from).toBe("2026-10-24T13:00:00+01:00");
    expect(over.window.to).toBe("2026-10-25T14:00:00+00:00");
  }, 60_000);

  it("no printed time is without its offset: rows, headings of ovens and kettles, departures", () => {
    for (const site of day.network.sites) {
      const [, ...lines] = siteText(day, over, site).split("\n");
      for (const line of lines)
        expect(line.replaceAll(/[+-]\d\d:\d\d/g, (x) => x.replace(":", ""))).not.toMatch(/\d\d:\d\d(?! [+-]\d{4})/);
    }
    expect(siteText(day, over, day.network.sites[0]!)).toMatch(/\d\d:\d\d \+01:00 to \d\d:\d\d \+00:00/);
  });

  it("paper has them inside sentences too, and for every dip", () => {
    const sheets = sheetsOf(day, over);
    for (const sheet of sheets) {
      const formatter = formatterOf(day, over, sheet);
      for (const table of sheet.tables)
        for (const row of table.rows)
          for (const { key, as } of table.columns) {
            const text = formatter.lines(row[key], as, null).join(" ");
            if (as === "clock" && text !== "") expect(text).toMatch(/ [+-]\d\d:\d\d$/);
            if (as === "seconds-clock" && text !== "") expect(text).toMatch(/^\d\d:\d\d:\d\d [+-]\d\d:\d\d/);
            if (/hot from|until \d/.test(text)) expect(text).toMatch(/\d\d:\d\d [+-]\d\d:\d\d/);
          }
    }
  });

  it("a span in a list of changes, or in a note on an oven's sheet, is never two times with a hyphen between", () => {
    const bake = over.tasks.find(({ does }) => does === "bake")!;
    const where: Whereabouts = { start: bake.start, end: bake.end, unit: bake.unit! };
    const change: Change = {
      what: "moved",
      task: bake.id,
      does: "bake",
      from: where,
      to: { ...where, start: over.window.from },
      inMinutes: 0,
      concerns: [],
    };
    const line = over.orders[0]!.line;
    const because = [{ task: bake.id, start: bake.start, end: bake.end, waitsFor: "plan" as const }];
    const order = { lateMinutes: 3, shortPieces: 0, state: "late" as const };
    const changes: Changes = {
      format: "changes/1",
      at: over.window.from,
      same: false,
      counts: { moved: 1, movedLoads: 1, added: 0, gone: 0, kept: 0, begun: 0 },
      stations: [{ station: bake.unit!.split("/").slice(0, 2).join("/"), changes: [change] }],
      heat: [],
      orders: [{ line, after: order, because }],
      scrapped: [],
      unchanged: [],
    };
    const texts = [changesText(day, over, over, changes), ...sheetsOf(day, over).flatMap(({ notes }) => notes)];
    expect(texts.join("\n")).toMatch(/\d\d:\d\d \+01:00 to \d\d:\d\d \+0[01]:00/);
    for (const text of texts) expect(text).not.toMatch(/\d\d:\d\d [+-]\d\d:\d\d-\d/);
  });

  it("a day without a change has no offset anywhere", () => {
    expect(siteText(day, plain, day.network.sites[0]!)).not.toMatch(/ [+-]\d\d:\d\d/);
    expect(sheetsHtml(day, plain, sheetsOf(day, plain))).not.toMatch(/\d\d:\d\d [+-]\d\d:\d\d/);
  });
});
