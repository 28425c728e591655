import { describe, expect, it } from "vitest";
import { calendarText } from "../../services/calendar.js";
import { layOut, sheetsHtml } from "../../services/sheets/html.js";
import { draw } from "../../solver/index.js";
import { diariesOf } from "../../solver/sheets/diary.js";
import { sheetsOf } from "../../solver/sheets/index.js";
import { randomDay } from "../days/random-day.js";
import { loadLp } from "../support/lp.js";

const DAYS = process.env.DECKSHELF_LONG === "1" ? 1000 : 60;
const lp = await loadLp();

describe("sheets and calendars of random days", () => {
  it("are complete, whatever the day: nights of changing clocks, several sites, everything short", {
    timeout: 600_000,
  }, () => {
    for (let seed = 1; seed <= DAYS; seed++) {
      const day = randomDay(seed, seed % 4 === 0 ? "tiny" : "small");
      const { timetable } = draw(day, { iterations: 5, seed, now: () => 0, lp });
      const sheets = sheetsOf(day, timetable);
      expect(new Set(sheets.map(({ id }) => id)).size, `seed ${seed}`).toBe(sheets.length);
      for (const paper of ["a4", "letter"] as const) {
        const pages = layOut(day, timetable, sheets, paper);
        // No row is lost between sheet and pages.
        for (const sheet of sheets) {
          const rows = sheet.tables.reduce((sum, table) => sum + table.rows.length, 0);
          const laid = pages
            .filter((page) => page.sheet.id === sheet.id)
            .flatMap((page) => page.tables.flatMap((table) => table.rows.filter(({ kind }) => kind === "cells")));
          expect(laid.length, `seed ${seed} ${sheet.id} ${paper}`).toBe(rows);
        }
      }
      expect(sheetsHtml(day, timetable, sheets)).not.toMatch(/undefined|NaN|\[object/);
      const bakes = timetable.tasks.filter(({ does }) => does === "bake").length;
      const onSheets = sheets
        .filter(({ kind }) => kind === "oven")
        .flatMap(({ tables }) => tables[0]!.rows.filter((row) => row.does === "load"));
      expect(onSheets.length, `seed ${seed}`).toBe(bakes);
      for (const diary of diariesOf(day, timetable))
        expect(calendarText(diary, { stampedAt: new Date(0) })).toMatch(
          /^BEGIN:VCALENDAR\r\n[\s\S]*END:VCALENDAR\r\n$/,
        );
    }
  });
});
