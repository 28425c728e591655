import ICAL from "ical.js";
import { beforeAll, describe, expect, it } from "vitest";
import type { DayDocuments, Task, Timetable } from "../../schemas/index.js";
import { cardsOf } from "../../services/board/logic/kitchen.js";
import { readPlan } from "../../services/board/logic/plan.js";
import { stationsOf } from "../../services/board/logic/stations.js";
import { calendarText } from "../../services/calendar.js";
import { sheetCsvs } from "../../services/sheets/csv.js";
import { siteText } from "../../services/text/stations.js";
import { cleaningsAt, cleaningWhy, NOBODY_CLEANS } from "../../solver/cleanings.js";
import { diariesOf } from "../../solver/sheets/diary.js";
import { type Sheet, sheetsOf } from "../../solver/sheets/index.js";
import { CAUTIONS } from "../../solver/trade/cautions.js";
import { drawn } from "../support/drawn.js";

let day: DayDocuments;
let timetable: Timetable;
let sheets: Sheet[];

beforeAll(async () => {
  ({ day, timetable } = await drawn("ordinary-day"));
  sheets = sheetsOf(day, timetable);
}, 60_000);

const cleans = (): Task[] => timetable.tasks.filter(({ does }) => does === "clean");
const kindOf = (unit: string): "mixer" | "bench" | "kettle" => {
  const [siteId, id] = unit.split("/");
  const site = day.network.sites.find((one) => one.id === siteId)!;
  if (site.mixers.some((one) => one.id === id)) return "mixer";
  return site.kettles.some((one) => one.id === id) ? "kettle" : "bench";
};
const whyOf = (clean: Task): string => {
  const found = cleaningsAt(day, timetable, clean.unit!).find(({ task }) => task === clean)!;
  return cleaningWhy(found);
};

describe("why a unit is cleaned", { timeout: 60_000 }, () => {
  /** The day's own loads of three products at one bench, with a cleaning before the third. */
  function atBench(products: readonly string[]): { day: DayDocuments; timetable: Timetable } {
    const unit = "weir-yard/bench-1";
    const loads = products.map((product, i) => ({ ...timetable.loads[0]!, id: `l-${i}`, product }));
    const at = (i: number): string => `2026-11-27T0${i}:00:00Z`;
    const tasks: Task[] = loads.map(({ id }, i) => ({
      id: `t-${i}`,
      does: "top",
      site: "weir-yard",
      unit,
      load: id,
      start: at(i),
      end: at(i).replace(":00:00", ":10:00"),
    }));
    tasks.push({
      id: "clean-1",
      does: "clean",
      site: "weir-yard",
      unit,
      start: at(1).replace("00:", "50:"),
      end: at(2),
    });
    return { day, timetable: { ...timetable, loads, tasks } };
  }
  const why = (products: readonly string[]): string => {
    const made = atBench(products);
    return cleaningWhy(cleaningsAt(made.day, made.timetable, "weir-yard/bench-1")[0]!);
  };

  it("names what the next may not have, and only that", () => {
    expect(why(["sesame-ring", "plain-ring", "plain-ring"])).toBe("after Sesame ring (Sesame), before Plain ring");
    expect(why(["sesame-ring", "walnut-loaf", "onion-ring"])).toBe(
      "after Sesame ring (Sesame) and Walnut rye loaf (Nuts), before Onion ring",
    );
    // Sesame goes before sesame.
    expect(why(["sesame-ring", "milk-roll", "seed-tin"])).toBe("after Milk roll (Milk, Egg), before Seeded tin loaf");
    expect(why(["sesame-ring", "plain-ring"])).toBe("after Sesame ring and Plain ring, nothing follows");
  });

  it("does not name a long list", () => {
    const { day: made, timetable: table } = atBench(["salt-twist", "plain-ring", "plain-ring"]);
    const [cleaning] = cleaningsAt(made, table, "weir-yard/bench-1");
    const after = ["A", "B", "C", "D"].map((name) => ({ name, allergens: ["Milk"] }));
    expect(cleaningWhy({ ...cleaning!, after })).toBe("after A, B and 2 more (Milk), before Plain ring");
  });
});

describe("a cleaning stands wherever its station's work does", { timeout: 60_000 }, () => {
  it("with mixers, benches and kettles among them, and a reason each", () => {
    expect(new Set(cleans().map(({ unit }) => kindOf(unit!)))).toEqual(new Set(["mixer", "bench", "kettle"]));
    for (const clean of cleans()) expect(whyOf(clean), clean.id).toMatch(/^after .+, before .+/);
  });

  it("on the station's sheet, in its CSV, with the caution and whose work it is", () => {
    for (const clean of cleans()) {
      const [site, unit] = clean.unit!.split("/");
      const sheet = sheets.find(({ id }) => id === `${site}--${kindOf(clean.unit!)}--${unit}`)!;
      const row = sheet.tables[0]!.rows.find((one) => one.start === clean.start && /^CLEAN/.test(String(one.what)))!;
      expect([row.end, `${row.what} ${row.how ?? row.who ?? ""}`], clean.id).toEqual([
        clean.end,
        expect.stringContaining(whyOf(clean)),
      ]);
      expect(sheet.cautions).toContain("allergen-order");
      expect(sheet.notes).toContain(NOBODY_CLEANS);
      expect(sheetCsvs(sheet)[0]!.text).toContain(whyOf(clean));
    }
  });

  it("on the station's screen", () => {
    const plan = readPlan(day, timetable);
    const cards = day.network.sites.flatMap(stationsOf).flatMap((station) => cardsOf(plan, station));
    for (const clean of cleans()) {
      const card = cards.find(({ task }) => task === clean.id)!;
      const minutes = (Date.parse(clean.end) - Date.parse(clean.start)) / 60_000;
      expect(card.details).toEqual([whyOf(clean), `${minutes} min`]);
      expect(card.cautions).toContain("allergen-order");
      expect(card.cautions?.includes("mixer")).toBe(kindOf(clean.unit!) === "mixer");
      expect(card.cautions?.includes("boiling-water")).toBe(kindOf(clean.unit!) === "kettle");
    }
  });

  it("in the station's calendar and in nobody's own", () => {
    const diaries = diariesOf(day, timetable);
    for (const clean of cleans()) {
      const own = diaries.filter(({ entries }) => entries.some(({ id }) => id === clean.id));
      expect(own.map(({ who }) => who)).toEqual([clean.unit]);
      const calendar = new ICAL.Component(ICAL.parse(calendarText(own[0]!, { stampedAt: new Date(0) })));
      const event = calendar
        .getAllSubcomponents("vevent")
        .map((one) => new ICAL.Event(one))
        .find(({ uid }) => uid.includes(`-${clean.id}@`))!;
      expect(event.description).toContain(`Why: ${whyOf(clean)}`);
      expect(event.description).toContain(CAUTIONS["allergen-order"]);
      expect(event.endDate.toJSDate().getTime()).toBe(Date.parse(clean.end));
      if (kindOf(clean.unit!) !== "kettle") expect(event.summary).toBe(`clean: ${whyOf(clean)}`);
    }
  });

  it("in print", () => {
    const text = day.network.sites.map((site) => siteText(day, timetable, site)).join("\n");
    for (const clean of cleans()) expect(text).toContain(`clean ${whyOf(clean)}`);
  });
});

describe("a mixer's own list", { timeout: 60_000 }, () => {
  it("has every batch and cleaning of that mixer in order of time, and who mixes", () => {
    for (const site of day.network.sites)
      for (const mixer of site.mixers) {
        const own = timetable.tasks.filter(({ unit }) => unit === `${site.id}/${mixer.id}`);
        const sheet = sheets.find(({ id }) => id === `${site.id}--mixer--${mixer.id}`);
        if (own.length === 0) {
          expect(sheet).toBeUndefined();
          continue;
        }
        const rows = sheet!.tables[0]!.rows;
        const starts = rows.map(({ start }) => String(start));
        expect(starts).toEqual([...starts].sort((a, b) => Date.parse(a) - Date.parse(b)));
        expect(rows.flatMap(({ batch }) => batch ?? []).sort()).toEqual(own.flatMap(({ batch }) => batch ?? []).sort());
        expect(rows.length).toBe(own.length);
        for (const row of rows.filter(({ batch }) => batch !== undefined)) {
          const batch = timetable.batches.find(({ id }) => id === row.batch)!;
          expect(row.massG).toBe(batch.massG);
          // The same as that person's own sheet says.
          const crew = sheets.find(({ kind, title }) => kind === "crew" && title === row.who)!;
          expect(crew.tables[0]!.rows.some(({ id, start }) => id === batch.id && start === row.start)).toBe(true);
        }
        expect(sheet!.cautions).toEqual(expect.arrayContaining(["mixer", "raw-flour", "flour-dust"]));
      }
    expect(day.network.sites[0]!.mixers.length).toBeGreaterThan(1);
  });
});
