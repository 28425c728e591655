import { beforeAll, describe, expect, it } from "vitest";
import type { DayDocuments, Happening } from "../../../schemas/index.js";
import { isWhole, sortFiles } from "../../../services/board/logic/folder.js";
import { dateOf, dayFor, dayName, freeId, linesFor, movedWhen } from "../../../services/board/logic/new-day.js";
import { readDayFolder } from "../../../services/day-folder.js";
import { checkDay } from "../../../solver/check/index.js";

let day: DayDocuments;
beforeAll(async () => {
  const read = await readDayFolder("services/demo/ordinary-day");
  if ("issues" in read) throw new Error(JSON.stringify(read.issues));
  day = read.day;
});

const DUBLIN = "Europe/Dublin";

describe("another day of a kitchen", () => {
  it("keeps the site's clock, over changes of the clocks too", () => {
    expect(movedWhen("2026-11-27T06:00", DUBLIN, 8)).toBe("2026-12-05T06:00");
    // Given as an instant in another offset: it is the clock on the wall that counts.
    expect(movedWhen("2026-09-20T04:00:00Z", DUBLIN, 60)).toBe("2026-11-19T05:00");
    // Clocks went back on 25 October 2026 at 02:00 and go forward on 28 March 2027 at 01:00 (EU directive 2000/84).
    expect(movedWhen("2026-10-24T01:30", DUBLIN, 1)).toBe("2026-10-25T01:30:00+01:00");
    expect(movedWhen("2027-03-27T01:30", DUBLIN, 1)).toBe("2027-03-28T02:30:00+01:00");
    expect(movedWhen("2028-02-28T23:00", "America/St_Johns", 1)).toBe("2028-02-29T23:00");
  });

  it("has the window and the dues on its date, and passes its checks on nights when clocks change", () => {
    expect(dateOf(day)).toBe("2026-11-27");
    for (const date of ["2026-12-04", "2026-10-25", "2027-03-28", "2025-01-01"]) {
      const other = dayFor(day, date, "Another", linesFor(day, date));
      expect(dateOf(other)).toBe(date);
      expect(checkDay(other), date).toEqual([]);
      expect(other.orders.lines).toHaveLength(84);
      expect(linesFor(other, "2026-11-27")).toEqual(day.orders.lines);
    }
  });

  it("leaves behind what happened, but not what is still out of order", () => {
    const out = (to?: string): Happening => ({
      kind: "out-of-service",
      unit: "weir-yard/oven-1",
      from: "2026-11-27T05:00",
      ...(to === undefined ? {} : { to }),
    });
    const slower: Happening = { kind: "slower", unit: "weir-yard/spiral-1", percent: 150 };
    const told: Happening[] = [
      { kind: "lock", task: "x" },
      out("2026-11-27T07:30"),
      out("2026-12-03T18:00"),
      out(),
      slower,
    ];
    const kitchen: DayDocuments = {
      ...day,
      happenings: { format: "happenings/1", at: "2026-11-27T06:00", happenings: told },
    };
    expect(dayFor(kitchen, "2026-12-04", "Another", []).happenings).toEqual({
      format: "happenings/1",
      happenings: told.slice(2),
    });
  });

  it("is kept and called by its date", () => {
    expect(freeId("2026-12-04", ["2026-12-04", "2026-12-04-2"])).toBe("2026-12-04-3");
    expect(freeId("Büro & Öfen!", [])).toMatch(/^[a-z0-9][a-z0-9-]*$/);
    expect(dayName("2026-12-04-2")).toBe("Fri 4 Dec 2026 2");
    expect(dayName("ordinary-day")).toBe("ordinary day");
    expect(dayName("2026-99-99")).toBe("2026 99 99");
  });
});

describe("chosen files", () => {
  const file = (name: string, text = "") => ({ name, text });

  it("are known by the names of a day folder, else by what they say of themselves", () => {
    const sorted = sortFiles([
      file("orders.csv"),
      file("our kitchen.json", '{\n  "format": "network/1", broken'),
      file("catalogue.json"),
      file("week 48.csv", "Id,Product,pieces\n"),
      file("settings.json"),
      file("friday.json", '{"format": "timetable/1"}'),
      file("pulls.csv", "ingredient,grams\n"),
    ]);
    expect(sorted.taken.map(({ name, as }) => [name, as])).toEqual([
      ["our kitchen.json", "network.json"],
      ["catalogue.json", "catalogue.json"],
      ["orders.csv", "orders.csv"],
      ["settings.json", "settings.json"],
    ]);
    expect(sorted.left.map(({ name }) => name).sort()).toEqual(["friday.json", "pulls.csv", "week 48.csv"]);
    expect(sorted.left.find(({ name }) => name === "week 48.csv")?.why).toBe("orders.csv is taken for the orders");
    expect(isWhole(sorted)).toBe(true);
    expect(isWhole(sortFiles([file("network.json")]))).toBe(false);
  });

  it("of two for one document without its name the later is taken, and both are shown", () => {
    const two = ["old.json", "new.json"].map((name) => file(name, '{"format": "settings/1"}'));
    const { taken, left } = sortFiles(two);
    expect(taken.map(({ name }) => name)).toEqual(["new.json"]);
    expect(left).toEqual([{ name: "old.json", why: "new.json is taken for the settings" }]);
  });
});
