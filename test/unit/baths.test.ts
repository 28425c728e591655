import { beforeAll, describe, expect, it } from "vitest";
import type { DayDocuments, Task, Timetable } from "../../schemas/index.js";
import { cardsOf } from "../../services/board/logic/kitchen.js";
import { readPlan } from "../../services/board/logic/plan.js";
import { stationsOf } from "../../services/board/logic/stations.js";
import { cautionsText } from "../../services/text/cautions.js";
import { siteText } from "../../services/text/stations.js";
import { bathRecipe, fillingsOf, hasLyeBetween } from "../../solver/baths.js";
import { Book } from "../../solver/sheets/book.js";
import { diariesOf } from "../../solver/sheets/diary.js";
import { type Sheet, sheetsOf } from "../../solver/sheets/index.js";
import { CAUTIONS } from "../../solver/trade/cautions.js";
import { heatUpBeyondCleaning, heatUpMinutes, lyeG } from "../../solver/trade/kettle.js";
import { drawn } from "../support/drawn.js";

const SITE = "weir-yard";
const at = (clock: string): string => `2026-11-27T${clock}:00+00:00`;

function task(id: string, does: "boil" | "clean", start: string, end: string): Task {
  return { id, does, site: SITE, unit: `${SITE}/bath-1`, start: at(start), end: at(end) };
}

/** Boils whose id begins with l are in lye. */
function fillings(tasks: readonly Task[]) {
  const program = { kettle: `${SITE}/bath-1`, on: [{ from: at("03:00"), boilsFrom: at("03:30"), to: at("09:00") }] };
  return fillingsOf({ litres: 60 }, program, tasks, ({ id }) => (id.startsWith("l") ? { lyePercent: 3.5 } : {}));
}

describe("what is in a kettle", () => {
  it("lye is weighed by the litre: 3.5 % of 60 l is 2.1 kg", () => {
    expect(lyeG(60, 3.5)).toBe(2100);
    expect(lyeG(90, 4)).toBe(3600);
  });

  it("is filled before it is lit, and anew in every cleaning, with what is boiled next", () => {
    const found = fillings([
      task("p-1", "boil", "03:30", "03:40"),
      task("clean-1", "clean", "03:40", "04:00"),
      task("l-1", "boil", "04:00", "04:10"),
      task("clean-2", "clean", "04:10", "04:30"),
      task("l-2", "boil", "04:30", "04:40"),
      task("clean-3", "clean", "04:40", "05:00"),
    ]);
    expect(found.map(({ kind, start, bath }) => [kind, start, bath?.lyePercent, bath?.lyeG])).toEqual([
      ["first", at("03:00"), undefined, 0],
      ["clean", at("03:40"), 3.5, 2100],
      ["clean", at("04:10"), 3.5, 2100],
      ["clean", at("04:40"), undefined, undefined],
    ]);
    expect(found[3]!.bath).toBeNull();
    expect(found[3]!.before?.lyePercent).toBe(3.5);
    expect(bathRecipe(found[1]!.bath!)).toBe("lye 3.5 %: 2.1 kg lye into 60 l cold water");
    expect(bathRecipe(found[0]!.bath!)).toBe("60 l plain water");
  });

  it("a kettle that goes cold with lye in it is lit again with lye in it", () => {
    const found = fillings([
      task("l-1", "boil", "03:30", "03:40"),
      task("clean-1", "clean", "04:00", "04:30"),
      task("p-1", "boil", "04:30", "04:40"),
    ]);
    const lye = (from: string, to: string): boolean => hasLyeBetween(found, at(from), at(to));
    expect(lye("03:00", "03:30")).toBe(true);
    expect(lye("03:45", "03:55")).toBe(true);
    // It is emptied of it then.
    expect(lye("03:59", "04:00")).toBe(true);
    expect(lye("04:00", "04:00")).toBe(true);
    expect(lye("04:30", "04:50")).toBe(false);
    expect(lye("02:00", "02:30")).toBe(false);
  });

  it("a change of bath without a cleaning is not passed over", () => {
    const found = fillings([task("l-1", "boil", "03:30", "03:40"), task("p-1", "boil", "03:40", "03:50")]);
    expect(found.map(({ kind, start }) => [kind, start])).toEqual([
      ["first", at("03:00")],
      ["unplanned", at("03:40")],
    ]);
  });
});

describe("the demo's kettles", { timeout: 60_000 }, () => {
  let day: DayDocuments;
  let timetable: Timetable;
  let sheets: Sheet[];
  let book: Book;

  beforeAll(async () => {
    ({ day, timetable } = await drawn("ordinary-day"));
    sheets = sheetsOf(day, timetable);
    book = new Book(day, timetable);
  }, 60_000);

  const boils = () => timetable.tasks.filter(({ does }) => does === "boil");
  const kettles = () => [...new Set(boils().map(({ unit }) => unit!))];
  const lyeOf = (boil: Task) => book.boilStep(book.load(boil.load)!)!.lyePercent;

  it("every row of a sheet names its bath, every filling what goes in and how much", () => {
    expect(boils().some((boil) => lyeOf(boil) !== undefined)).toBe(true);
    for (const unit of kettles()) {
      const sheet = sheets.find(({ id }) => id === unit.replace("/", "--kettle--"))!;
      const rows = sheet.tables[0]!.rows;
      for (const boil of boils().filter((one) => one.unit === unit)) {
        const row = rows.find(({ load, start }) => load === boil.load && start === boil.start)!;
        expect(row.bath).toBe(lyeOf(boil) === undefined ? "water" : `LYE ${lyeOf(boil)} %`);
      }
      const first = rows[0]!;
      expect(first.what).toMatch(/^FILL fresh and cold/);
      expect(first.start).toBe(timetable.kettleProgram.find(({ kettle }) => kettle === unit)!.on[0]!.from);
      for (const row of rows.filter(({ what }) => String(what).includes("FILL"))) {
        const litres = book.kettle(unit)!.litres;
        if (String(row.bath).startsWith("LYE")) {
          expect(row.lyeG).toBe(lyeG(litres, 3.5));
          expect(row.what).toContain(`then ${lyeG(litres, 3.5) / 1000} kg lye`);
        } else expect(row.bath).toBe("water");
      }
      expect(rows.filter(({ what }) => String(what).startsWith("CLEAN")).length).toBe(
        timetable.tasks.filter((one) => one.unit === unit && one.does === "clean").length,
      );
    }
  });

  it("lye is on the purchase and the pull list, as much as the fillings take", () => {
    const used = new Map<string, number>();
    for (const unit of kettles())
      for (const { bath } of book.fillings(unit))
        if (bath && bath.lyeG > 0) used.set(unit.split("/")[0]!, (used.get(unit.split("/")[0]!) ?? 0) + bath.lyeG);
    expect(used.size).toBeGreaterThan(0);
    for (const [site, massG] of used) {
      for (const kind of ["purchase", "pull"] as const) {
        const sheet = sheets.find((one) => one.kind === kind && one.site === site)!;
        const row = sheet.tables
          .flatMap(({ rows }) => rows)
          .find(({ name, ingredient }) => String(name ?? ingredient).startsWith("Lye"))!;
        expect(row.massG).toBe(massG);
        expect(sheet.notes.join(" ")).toContain("pack and price are not known");
        if (kind === "pull") expect(sheet.cautions).toContain("lye");
      }
    }
  });

  it("a kitchen card gives the bath, the seconds a side, and what a cleaning is followed by", () => {
    const plan = readPlan(day, timetable);
    const stations = day.network.sites.flatMap(stationsOf).filter(({ kind }) => kind === "kettle");
    const cards = stations.flatMap((station) => cardsOf(plan, station));
    for (const boil of boils()) {
      const card = cards.find((one) => one.task === boil.id)!;
      expect(card.where).toBe(lyeOf(boil) === undefined ? "in plain water" : `in lye ${lyeOf(boil)} %`);
      const { sides, secondsPerSide } = book.boilStep(book.load(boil.load)!)!;
      expect(card.details[0]).toBe(sides === 1 ? `${secondsPerSide} s` : `${sides} × ${secondsPerSide} s`);
    }
    const cleans = cards.filter(({ verb }) => verb === "Clean");
    expect(cleans.length).toBeGreaterThan(0);
    for (const { what, where } of cleans) {
      if (what.endsWith("plain water")) expect(where).toMatch(/^\d+ l cold water$/);
      else expect(where).toMatch(/^[\d.]+ kg lye into \d+ l cold water$/);
      expect(what).toMatch(/^then fill fresh: (plain water|lye 3.5 %)$/);
    }
    for (const { where } of cards.filter(({ verb }) => verb === "Light")) expect(where).toMatch(/^filled with /);
  });

  it("calendars caution of lye where a bath of it is made or emptied, and say what comes in", () => {
    const entries = diariesOf(day, timetable).flatMap((diary) => diary.entries);
    for (const unit of kettles()) {
      for (const { task: clean, before, bath } of book.fillings(unit)) {
        if (!clean) continue;
        const entry = entries.find(({ id }) => id === clean.id)!;
        expect(entry.summary).toBe(`clean, then fill with ${bathRecipe(bath!)}`);
        const touches = before?.lyePercent !== undefined || bath?.lyePercent !== undefined;
        expect(entry.description.includes(CAUTIONS.lye)).toBe(touches);
      }
    }
    expect(entries.some(({ summary }) => /^boil .* in plain water$/.test(summary))).toBe(true);
    expect(entries.some(({ summary }) => /^boil .* in lye 3.5 %$/.test(summary))).toBe(true);
  });

  /** The goggles and gloves are for everybody who has the lye, or what is wet with it, before him. */
  it("lye is cautioned of wherever hands meet it: lit, dipped, changed, emptied, switched off, topped, baked", () => {
    const plan = readPlan(day, timetable);
    const stations = day.network.sites.flatMap(stationsOf);
    const cards = stations.flatMap((station) => cardsOf(plan, station));
    const diaries = diariesOf(day, timetable);
    const lyeLoads = new Set(boils().flatMap((boil) => (lyeOf(boil) === undefined ? [] : [boil.load!])));
    const wet = timetable.tasks.filter(
      ({ does, load }) => ["boil", "top", "bake"].includes(does) && lyeLoads.has(load ?? ""),
    );
    expect(new Set(wet.map(({ does }) => does))).toEqual(new Set(["boil", "top", "bake"]));
    const sheetsWith = (id: string) =>
      sheets.filter(
        ({ kind, tables }) =>
          ["bench", "kettle", "oven"].includes(kind) && tables.some(({ rows }) => rows.some(({ load }) => load === id)),
      );
    for (const work of wet) {
      for (const { entries } of diaries)
        for (const entry of entries.filter(({ id }) => id === work.id))
          expect([entry.description, entry.summary], work.id).toEqual([
            expect.stringContaining(CAUTIONS.lye),
            expect.stringMatching(work.does === "boil" ? / in lye 3.5 %$/ : /, wet with lye$/),
          ]);
      expect(cards.find(({ task: id }) => id === work.id)!.cautions, work.id).toContain("lye");
      const [site, unit, deck] = work.unit!.split("/");
      const own = sheetsWith(work.load!).find(
        ({ id }) => id.startsWith(`${site}--`) && id.includes([unit, deck].filter(Boolean).join("-")),
      )!;
      expect(own.cautions, `${work.id} ${own.id}`).toContain("lye");
      if (work.does === "top")
        expect(own.tables[0]!.rows.find(({ load, start }) => load === work.load && start === work.start)!.how).toMatch(
          /^WET WITH LYE: top with /,
        );
      if (work.crew) {
        const crew = sheets.filter(
          ({ kind, tables }) =>
            kind === "crew" &&
            tables[0]!.rows.some(
              ({ id, start, where }) => id === work.load && start === work.start && where === book.unitName(work.unit!),
            ),
        );
        expect(crew.length).toBeGreaterThan(0);
        for (const sheet of crew) expect(sheet.cautions).toContain("lye");
      }
    }
    // And not of plain water, nor of what never was in it.
    for (const boil of boils().filter((one) => lyeOf(one) === undefined))
      expect(cards.find(({ task: id }) => id === boil.id)!.cautions ?? []).not.toContain("lye");
    for (const unit of kettles()) {
      const found = book.fillings(unit);
      const program = timetable.kettleProgram.find(({ kettle }) => kettle === unit)!;
      const entries = diaries.find(({ who }) => who === unit)!.entries;
      program.on.forEach((on, i) => {
        const inIt = (instant: string) =>
          found.findLast(({ start }) => start <= instant)?.bath?.lyePercent !== undefined;
        for (const [what, verb, instant] of [
          ["light", "Light", on.from],
          ["off", "Switch off", on.to],
        ] as const) {
          const entry = entries.find(({ id }) => id === `${unit.replace("/", "-")}-${what}-${i + 1}`)!;
          expect(entry.description.includes(CAUTIONS.lye), entry.id).toBe(inIt(instant));
          const card = cards.find(
            (one) => one.unit === unit && one.verb === verb && one.fromMs === Date.parse(instant),
          )!;
          expect(card.cautions?.includes("lye") ?? false, card.id).toBe(inIt(instant));
        }
      });
      for (const { task: clean, before, bath } of found) {
        if (!clean) continue;
        const touches = before?.lyePercent !== undefined || bath?.lyePercent !== undefined;
        expect(cards.find(({ task: id }) => id === clean.id)!.cautions?.includes("lye")).toBe(touches);
      }
    }
    expect(cards.some(({ verb, cautions }) => verb === "Light" && cautions?.includes("lye"))).toBe(true);
    expect(cards.some(({ verb, cautions }) => verb === "Switch off" && cautions?.includes("lye"))).toBe(true);
  });

  it("a change of water in less time than the kettle takes to the boil is said on its sheet and in print", () => {
    /** The same day with kettles whose change of water is planned to take so long. */
    const withCleaning = (minutes: number): DayDocuments => ({
      ...day,
      network: {
        ...day.network,
        sites: day.network.sites.map((site) => ({
          ...site,
          kettles: site.kettles.map((kettle) => ({ ...kettle, cleaningMinutes: minutes })),
        })),
      },
    });
    const said = (of: DayDocuments) => {
      const notes = sheetsOf(of, timetable).flatMap((sheet) => sheet.notes);
      return {
        changes: notes.filter((note) => note.startsWith("A change of water is planned to take")).length,
        tooShort: notes.filter((note) => note.includes("THAT IS TOO SHORT")),
        printed: cautionsText(of, timetable).match(/a change of water is planned to take/g)?.length ?? 0,
      };
    };
    const cleaned = kettles().filter((unit) => book.fillings(unit).some(({ kind }) => kind === "clean"));
    expect(cleaned.length).toBeGreaterThan(0);
    expect(said(day)).toEqual({ changes: cleaned.length, tooShort: [], printed: 0 });
    const short = said(withCleaning(20));
    expect(short).toMatchObject({ changes: cleaned.length, printed: cleaned.length });
    const heatUps = cleaned.map((unit) =>
      heatUpMinutes(book.kettle(unit)!, book.sites.get(unit.slice(0, unit.indexOf("/")))!),
    );
    expect(short.tooShort).toHaveLength(heatUps.length);
    for (const heatUp of heatUps)
      expect(short.tooShort.some((note) => note.includes(`to the boil alone it takes ${heatUp} min`))).toBe(true);
  });

  it("a kettle takes to the boil what its water and its heat say", () => {
    const kettle = { ...book.kettle("weir-yard/bath-1")!, cleaningMinutes: 30 };
    const site = book.sites.get("weir-yard")!;
    // 60 l x 4186 x 84.9 K / 12 kW: 29.6 min, rounded up.
    expect(heatUpMinutes(kettle, site)).toBe(30);
    expect(heatUpBeyondCleaning(kettle, site)).toBeNull();
    expect(heatUpBeyondCleaning({ ...kettle, cleaningMinutes: 29 }, site)).toBe(30);
    expect(heatUpBeyondCleaning({ ...kettle, cleaningMinutes: 29, heatUpMinutes: 25 }, site)).toBeNull();
    expect(heatUpBeyondCleaning({ ...kettle, cleaningMinutes: 0 }, site)).toBeNull();
  });

  it("printed text says the same", () => {
    const text = siteText(day, timetable, day.network.sites[0]!);
    expect(text).toMatch(/: fill with .*, light \d\d:\d\d, boils/);
    expect(text).not.toContain("fresh water");
    for (const line of text.split("\n").filter((one) => /\d dips? of/.test(one)))
      expect(line).toMatch(/in (plain water|lye 3.5 %)/);
  });
});
