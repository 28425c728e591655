import { parse } from "csv-parse/sync";
import { beforeAll, describe, expect, it } from "vitest";
import type { DayDocuments, Timetable } from "../../../schemas/index.js";
import { chosenSheets, sheetFiles } from "../../../services/sheets/bundle.js";
import { tableCsv } from "../../../services/sheets/csv.js";
import { Formatter, massText, moneyText, tempText } from "../../../services/sheets/format.js";
import { layOut, sheetsHtml } from "../../../services/sheets/html.js";
import { runs } from "../../../solver/sheets/book.js";
import { SHEET_KINDS, type Sheet, sheetsOf } from "../../../solver/sheets/index.js";
import { CAUTIONS, COMES_FIRST, ONLY_COMPUTED } from "../../../solver/trade/cautions.js";
import { drawn } from "../../support/drawn.js";

let day: DayDocuments;
let timetable: Timetable;
let sheets: Sheet[];

beforeAll(async () => {
  ({ day, timetable } = await drawn("ordinary-day"));
  sheets = sheetsOf(day, timetable);
}, 60_000);

const of = (kind: Sheet["kind"]): Sheet[] => sheets.filter((sheet) => sheet.kind === kind);
const rowsOf = (sheet: Sheet, table: string) => sheet.tables.find(({ id }) => id === table)?.rows ?? [];

describe("the sheets of a day", { timeout: 60_000 }, () => {
  it("are of every kind, with ids of their own", () => {
    for (const kind of SHEET_KINDS) expect(of(kind).length, kind).toBeGreaterThan(0);
    expect(new Set(sheets.map(({ id }) => id)).size).toBe(sheets.length);
    for (const { id } of sheets) expect(id).toMatch(/^[a-z0-9-]+$/);
  });

  it("the cost sheet counts the bake loss from all that goes into the oven, toppings too", () => {
    const food = rowsOf(of("cost")[0]!, "food");
    // 115 g of dough, and 102 g baked; with 4 g of seed on it 105 g.
    expect(food.find(({ name }) => name === "Plain ring")).toMatchObject({ toppedG: null, loss: 11.3 });
    expect(food.find(({ name }) => name === "Sesame ring")).toMatchObject({ toppedG: 4, loss: 11.8 });
  });

  it("those of stations are in the network's order, those of batches and runs in the order of time", () => {
    for (const site of day.network.sites) {
      const own = (kind: Sheet["kind"]) => of(kind).filter((sheet) => sheet.site === site.id);
      const decks = site.ovens.flatMap((oven) => oven.decks.map((_, i) => `--oven--${oven.id}-${oven.decks[i]!.id}`));
      const places = own("oven").map(({ id }) => decks.findIndex((deck) => id.endsWith(deck)));
      expect(places).toEqual([...places].sort((a, b) => a - b));
      for (const kind of ["mix", "van"] as const) {
        const from = own(kind).map((sheet) => Date.parse(sheet.from));
        expect(from).toEqual([...from].sort((a, b) => a - b));
      }
    }
  });

  it("a van sheet sends nobody to a place that something else has: what is not there any more only says where it was", () => {
    const instant = (text: string): number => Date.parse(text);
    let taken = 0;
    let there = 0;
    for (const sheet of of("van")) {
      for (const row of rowsOf(sheet, "rides")) {
        const own = timetable.tasks.filter(({ load }) => load === row.load);
        const ride = own.find(({ does }) => does === "van")!;
        const last = own.filter(({ places, end }) => places?.length && instant(end) <= instant(ride.start)).at(-1)!;
        const text = String(row.from);
        const isThere = last.end === ride.start && !own.some(({ does }) => does === "pack");
        expect(text.startsWith("take from "), `${row.load}: ${text}`).toBe(isThere);
        if (isThere) there++;
        // A position is only named when nothing else stands in it before the van is loaded.
        const positions = new Set(last.places!.map(({ unit, position }) => `${unit} ${position}`));
        const others = timetable.tasks.filter(
          ({ load, start, end, places }) =>
            load !== row.load &&
            instant(start) <= instant(ride.start) &&
            instant(end) > instant(last.end) &&
            places?.some(({ unit, position }) => positions.has(`${unit} ${position}`)),
        );
        if (others.length > 0 && !isThere) {
          expect(text, `${row.load}`).not.toMatch(/rack-row: /);
          taken++;
        }
      }
    }
    expect(taken).toBeGreaterThan(0);
    expect(there).toBeGreaterThan(0);
  });

  it("a mix sheet weighs what the batch is, and divides it all", () => {
    expect(of("mix").length).toBe(timetable.batches.length);
    for (const batch of timetable.batches) {
      const sheet = of("mix").find(({ id }) => id.endsWith(`--${batch.id}`))!;
      const weighed = rowsOf(sheet, "weigh").reduce((sum, row) => sum + Number(row.massG), 0);
      expect(Math.abs(weighed - batch.massG)).toBeLessThanOrEqual(rowsOf(sheet, "weigh").length);
      const divided = rowsOf(sheet, "shares").reduce((sum, row) => sum + Number(row.doughG), 0);
      expect(divided + batch.spareG).toBeCloseTo(batch.massG, 6);
    }
  });

  it("a mix sheet says the liquid's temperature and how it was found", () => {
    // The demo has a measured friction for the commissary's spiral mixer: 3 x 25 - 21 - 21 - 11; other mixers have the usual one.
    const notes = of("mix")
      .filter(({ title }) => title === "Mix: Ring dough")
      .map(({ facts }) => facts.find(({ label }) => label.startsWith("Water"))!);
    expect(new Set(notes.map(({ note }) => note))).toEqual(
      new Set(["factor method, measured friction", "heat balance, estimated friction"]),
    );
    for (const { note, value } of notes) if (note === "factor method, measured friction") expect(value).toBe(22);
    const laminated = of("mix").find(({ title }) => title === "Mix: Laminated dough")!;
    expect(laminated.facts.some(({ label }) => label.startsWith("Whole milk"))).toBe(true);
    // What the temperature was reckoned with stands beside it; butter for folding is weighed apart.
    const weigh = rowsOf(laminated, "weigh").map(({ ingredient, tempC }) => [ingredient, tempC]);
    expect(weigh).toContainEqual(["Butter, NOT in the bowl", null]);
    expect(weigh).toContainEqual(["Fresh yeast", 4]);
    // What is divided at the bowl is without it, and adds up to what was weighed into the bowl.
    const inBowl = rowsOf(laminated, "weigh").filter(({ ingredient }) => !String(ingredient).includes("NOT"));
    const bowlG = inBowl.reduce((sum, { massG }) => sum + Number(massG), 0);
    const shares = rowsOf(laminated, "shares");
    const spareG = timetable.batches.find(({ id }) => laminated.id.endsWith(`--${id}`))!.spareG;
    const dividedG = shares.reduce((sum, row) => sum + Number(row.bowlG), 0) + (spareG * 169) / 217;
    expect(Math.abs(dividedG - bowlG)).toBeLessThanOrEqual(inBowl.length + shares.length);
    expect(Math.abs(Number(laminated.facts.find(({ label }) => label === "In the bowl")!.value) - bowlG)).toBeLessThan(
      6,
    );
    const rolls = of("mix").find(({ title }) => title === "Mix: Milk roll dough")!;
    expect(rowsOf(rolls, "weigh").map(({ ingredient, tempC }) => [ingredient, tempC])).toContainEqual(["Butter", 12]);
    expect(rolls.facts.find(({ label }) => label.startsWith("Whole milk"))!.note).toMatch(/^heat balance/);
    expect(
      of("mix")
        .find(({ title }) => title === "Mix: Cookie dough")!
        .facts.some(({ as }) => as === "temp"),
    ).toBe(true);
  });

  it("every tub and pan in a fridge is on a map and a label; the label's window holds the plan", () => {
    const shown = of("shelf-map").flatMap((sheet) =>
      rowsOf(sheet, "map").flatMap((row) => Object.values(row).flatMap((cell) => (Array.isArray(cell) ? cell : []))),
    );
    const labels = of("labels").flatMap((sheet) => rowsOf(sheet, "labels"));
    for (const task of timetable.tasks) {
      if (task.does !== "retard") continue;
      for (const { item } of task.places ?? []) expect(shown).toContain(item);
      const label = labels.find(
        (row) =>
          (task.places ?? []).some(({ item }) => row.item === item) || String(row.item).endsWith(` ${task.load}`),
      );
      expect(label, task.id).toBeDefined();
    }
    for (const label of labels) {
      expect(Date.parse(label.earliest as string)).toBeLessThanOrEqual(Date.parse(label.latest as string));
      expect(Date.parse(label.planned as string)).toBeLessThanOrEqual(Date.parse(label.latest as string));
    }
  });

  it("every bake is on its deck's sheet with its positions, every boil on its kettle's with its dips", () => {
    const decks = of("oven").flatMap((sheet) => rowsOf(sheet, "program"));
    for (const task of timetable.tasks.filter(({ does }) => does === "bake")) {
      const row = decks.find((candidate) => candidate.load === task.load && candidate.does === "load")!;
      expect(row.positions).toBe(runs((task.places ?? []).map(({ position }) => position)));
      expect([row.at, row.out, row.tempC]).toEqual([task.start, task.end, task.tempC]);
    }
    const boils = of("kettle").flatMap((sheet) => rowsOf(sheet, "boils"));
    for (const task of timetable.tasks.filter(({ does }) => does === "boil")) {
      const row = boils.find((candidate) => candidate.load === task.load)!;
      expect((row.every as string[]).length).toBe(task.dips!.length);
    }
  });

  it("all hands' work is on the crew sheets once per head, and nobody does two things at once", () => {
    const heads = new Map<string, number>();
    for (const sheet of of("crew")) {
      const rows = rowsOf(sheet, "work");
      const isAnybody = sheet.id.endsWith("-anybody");
      for (const [i, row] of rows.entries()) {
        const task = timetable.tasks.find(
          ({ start, unit, load, batch, crew }) =>
            crew !== undefined &&
            start === row.start &&
            (load ?? batch) === row.id &&
            (unit === undefined || row.where !== ""),
        )!;
        expect(task, JSON.stringify(row)).toBeDefined();
        heads.set(task.id, (heads.get(task.id) ?? 0) + (isAnybody ? task.crew!.heads : 1));
        if (i > 0 && !isAnybody)
          expect(Date.parse(row.start as string)).toBeGreaterThanOrEqual(Date.parse(rows[i - 1]!.end as string));
      }
    }
    const worked = timetable.tasks.filter(({ crew }) => crew !== undefined);
    expect(heads.size).toBe(worked.length);
    for (const task of worked) expect(heads.get(task.id)).toBe(task.crew!.heads);
    const open = of("crew")
      .filter(({ id }) => id.endsWith("-anybody"))
      .flatMap((sheet) => rowsOf(sheet, "work"));
    expect(open.length).toBeLessThan(worked.length / 10);
  });

  it("what rides is on its van's sheet, what is ordered on its site's", () => {
    for (const trip of timetable.vans) {
      const sheet = of("van").find(({ id }) => id.endsWith(trip.id))!;
      expect(rowsOf(sheet, "rides").map(({ load }) => load)).toEqual(trip.loads.map(({ load }) => load));
    }
    const lines = of("orders").flatMap((sheet) => rowsOf(sheet, "orders").map(({ line }) => line));
    expect(lines.sort()).toEqual(day.orders.lines.map(({ id }) => id).sort());
  });

  it("the pull list takes what the mixes and toppings take, in whole packs on the purchase list", () => {
    const sheet = of("purchase")[0]!;
    for (const row of rowsOf(sheet, "buy")) {
      if (row.packs === null) continue;
      expect(Number(row.packs) * Number(row.packG)).toBeGreaterThanOrEqual(Number(row.massG) - 1);
      expect((Number(row.packs) - 1) * Number(row.packG)).toBeLessThan(Number(row.massG));
    }
    const pulled = of("pull")[0]!.tables.flatMap(({ rows }) => rows);
    const names = new Set(pulled.map(({ ingredient }) => ingredient));
    expect([...names].sort()).toEqual(
      rowsOf(sheet, "buy")
        .map(({ name }) => name)
        .sort(),
    );
    // Of each as much is fetched as is bought, but for a gram a time.
    for (const { name, massG } of rowsOf(sheet, "buy")) {
      const own = pulled.filter(({ ingredient }) => ingredient === name);
      const sum = own.reduce((grams, row) => grams + Number(row.massG), 0);
      expect(sum).toBeGreaterThanOrEqual(Number(massG));
      expect(sum).toBeLessThan(Number(massG) + own.length);
    }
    // Milk does not stand out of the cold from the first mix to the last.
    const cold = of("pull")[0]!.tables.find(({ id }) => id === "chilled")!.rows;
    const milk = cold.filter(({ ingredient }) => ingredient === "Whole milk");
    expect(milk.length).toBeGreaterThan(1);
    for (let i = 1; i < milk.length; i++)
      expect(Date.parse(String(milk[i]!.by)) - Date.parse(String(milk[i - 1]!.by))).toBeGreaterThan(60 * 60_000);
    const walnut = of("pull")[0]!.tables.find(({ id }) => id === "frozen")!.rows[0]!;
    expect(walnut.ingredient).toBe("Walnut pieces");
  });

  it("a load that was thrown away says so wherever it stands", () => {
    const [first, ...rest] = timetable.loads;
    const scrapped = { ...first!, scrapped: { at: timetable.window.from, why: "test" } };
    const after = sheetsOf(day, { ...timetable, loads: [scrapped, ...rest] });
    const bench = after
      .filter(({ kind }) => kind === "bench")
      .flatMap(({ tables }) => tables[0]!.rows)
      .filter(({ load }) => load === first!.id);
    expect(bench.length).toBeGreaterThan(0);
    for (const row of bench) expect(row.what).toMatch(/, THROWN AWAY$/);
  });

  it("costs add up", () => {
    const parts = rowsOf(of("cost")[0]!, "parts");
    const sum = parts.slice(0, -1).reduce((total, row) => total + Number(row.amount), 0);
    expect(Number(parts.at(-1)!.amount)).toBeCloseTo(sum, 6);
    const food = rowsOf(of("cost")[0]!, "food").reduce((total, row) => total + Number(row.total), 0);
    expect(Number(parts[0]!.amount)).toBeCloseTo(food, 6);
  });

  it("the same documents give the same sheets, and a timetable of another day does not throw", async () => {
    expect(sheetsOf(day, timetable)).toEqual(sheets);
    const other: Timetable = { ...timetable, loads: [], batches: [] };
    expect(() => sheetsOf(day, other)).not.toThrow();
  });
});

describe("hands and health", { timeout: 60_000 }, () => {
  it("cautions stand where they apply", () => {
    for (const sheet of of("kettle")) expect(sheet.cautions).toContain("boiling-water");
    for (const sheet of of("oven")) expect(sheet.cautions).toContain("hot-decks");
    for (const sheet of of("mix")) expect(sheet.cautions).toEqual(expect.arrayContaining(["mixer", "raw-flour"]));
    expect(of("log")[0]!.cautions).toContain("cold-chain");
    const lye = of("kettle").filter(({ subtitle }) => subtitle.includes("lye"));
    expect(lye.length).toBeGreaterThan(0);
    for (const sheet of lye) expect(sheet.cautions).toContain("lye");
  });

  it("allergens of what is on the sheet, with the cereal by name, and what nobody declared", () => {
    const rye = of("mix").find(({ title }) => title === "Mix: Rye dough")!;
    expect(rye.allergens).toEqual(["Cereals with gluten (rye, wheat)"]);
    expect(of("pull")[0]!.notes.join(" ")).toMatch(
      /nothing is declared for crustaceans.*Not declared does not mean absent/,
    );
  });

  it("no sheet says that anything is safe; every page has the foot and its allergens", () => {
    const html = sheetsHtml(day, timetable, sheets);
    const pages = html.split('<section class="page">').slice(1);
    expect(pages.length).toBe(layOut(day, timetable, sheets, "a4").length);
    for (const page of pages) {
      expect(page).toContain(COMES_FIRST);
      expect(page).toContain(ONLY_COMPUTED);
      expect(page).not.toMatch(/\b(is|are) safe\b|food[- ]safe\b/i);
    }
    const plain = day.settings.jurisdiction!;
    expect(html).toContain(plain.replaceAll("'", "'"));
    for (const [kind, text] of Object.entries(CAUTIONS)) expect(text.length).toBeLessThan(kind === "lye" ? 230 : 190);
  });
});

describe("the files", { timeout: 60_000 }, () => {
  it("HTML has no scripts, fetches nothing, and shows text as text", () => {
    const nasty: DayDocuments = {
      ...day,
      network: {
        ...day.network,
        sites: day.network.sites.map((site) => ({ ...site, name: '<img src=x onerror="a&b">' })),
      },
    };
    const html = sheetsHtml(nasty, timetable, sheetsOf(nasty, timetable));
    expect(html).not.toMatch(/<script|<link|<img|https?:|url\(|@import|onerror="/i);
    expect(html).toContain("&lt;img src=x onerror=&quot;a&amp;b&quot;&gt;");
  });

  it("CSV reads back by another reader with the raw values, and no cell is a formula", () => {
    for (const sheet of sheets) {
      for (const table of sheet.tables) {
        const text = tableCsv(table);
        expect(text).toMatch(/\r\n$/);
        const back = parse(text, { columns: true }) as Record<string, string>[];
        expect(back.length).toBe(table.rows.length);
        const column = table.columns.find(({ as }) => as === "mass");
        if (!column) continue;
        back.forEach((row, i) => {
          expect(row[column.key]).toBe(table.rows[i]![column.key] === null ? "" : String(table.rows[i]![column.key]));
        });
      }
    }
    const evil = tableCsv({
      id: "t",
      columns: [
        { key: "a", title: "A", as: "text" },
        { key: "b", title: "B", as: "list" },
      ],
      rows: [{ a: '=HYPERLINK("x")', b: ["+1", 'say "hi", all'] }],
    });
    expect(parse(evil, { columns: true })).toEqual([{ a: '\'=HYPERLINK("x")', b: '\'+1; say "hi", all' }]);
  });

  it("are chosen by site and kind", () => {
    const some = chosenSheets(day, timetable, { sites: ["bridge-shop"], kinds: ["orders", "log"] });
    expect(some.map(({ id }) => id)).toEqual(["bridge-shop--orders", "bridge-shop--log"]);
    const files = sheetFiles(day, timetable, some, "letter");
    expect([...files.keys()]).toEqual(
      expect.arrayContaining(["all.html", "bridge-shop.html", "sheets.json", "bridge-shop/bridge-shop--orders.csv"]),
    );
    expect(files.get("all.html")).toContain("8.5in 11in");
    expect(JSON.parse(files.get("sheets.json")!)).toMatchObject({ format: "sheets/1" });
  });
});

describe("how cells read", { timeout: 60_000 }, () => {
  it("masses in both systems", () => {
    expect([massText(12_345, "metric"), massText(86, "metric"), massText(7.5, "metric")]).toEqual([
      "12.345 kg",
      "86 g",
      "7.5 g",
    ]);
    expect([
      massText(453.59237 * 27.25, "us-customary"),
      massText(85, "us-customary"),
      massText(453.59, "us-customary"),
    ]).toEqual(["27 lb 4.0 oz", "3.0 oz", "1 lb"]);
    expect([tempText(25, "metric"), tempText(25, "us-customary"), tempText(11.96, "metric")]).toEqual([
      "25 C",
      "77 F",
      "12 C",
    ]);
    expect([moneyText(12.5, "EUR"), moneyText(0.164, "XXX")]).toEqual(["12.50 EUR", "0.164"]);
  });

  it("clocks name another day, and show the offset on nights when clocks change", () => {
    const plain = new Formatter({}, "Europe/Dublin", false);
    expect(plain.clock("2026-11-27T03:05:00Z", "2026-11-27")).toBe("03:05");
    expect(plain.clock("2026-11-27T03:05:00Z", "2026-11-26")).toBe("Fri 03:05");
    const changing = new Formatter({}, "Europe/Dublin", true);
    expect(changing.clock("2026-10-25T00:30:00Z", null)).toBe("01:30 +01:00");
    expect(changing.clock("2026-10-25T01:30:00Z", null)).toBe("01:30 +00:00");
    expect(plain.lines(["2026-11-27T04:12:00Z", "2026-11-27T04:14:05Z"], "seconds-clock", null)).toEqual([
      "04:12:00 14:05",
    ]);
  });

  it("positions in runs", () => {
    expect([runs([3, 1, 2]), runs([1, 2, 5]), runs([4]), runs([])]).toEqual(["1-3", "1 2 5", "4", ""]);
  });
});
