import { beforeAll, describe, expect, it } from "vitest";
import type { DayDocuments } from "../../../schemas/index.js";
import { validateDocument } from "../../../schemas/validate.js";
import { fullness } from "../../../services/board/logic/fullness.js";
import { fridgeAt, ovenAt, Stays } from "../../../services/board/logic/instant.js";
import { draftChanges, filterRows, freshId, orderRows, sortRows } from "../../../services/board/logic/orders.js";
import { type Plan, readPlan } from "../../../services/board/logic/plan.js";
import { allUnits, applyEdits, asChanges, type Edit, editText } from "../../../services/board/logic/scenario.js";
import {
  emptyOf,
  labelOf,
  numberTrouble,
  pointerOf,
  schemaOf,
  valueAt,
  withValue,
} from "../../../services/board/logic/schema-form.js";
import { placeOf, placesOf } from "../../../services/board/logic/setup-tree.js";
import { rowsWindow } from "../../../services/board/parts/rows-window.js";
import { checkDay } from "../../../solver/check/index.js";
import { demoDay } from "./plan-fixture.js";

let plan: Plan;
let day: DayDocuments;
beforeAll(async () => {
  const made = await demoDay();
  day = made.day;
  plan = readPlan(made.day, made.timetable);
}, 300_000);

describe("orders", { timeout: 60_000 }, () => {
  it("each line fares as the timetable says, and a changed line is not claimed to fit", () => {
    const rows = orderRows(day.orders.lines, plan);
    for (const row of rows) {
      const outcome = plan.outcomes.get(row.line.id)!;
      const fate = outcome.shortPieces > 0 ? "short" : outcome.lateMinutes > 0 ? "late" : "on-time";
      expect(row.fate).toBe(fate);
      if (outcome.pieces > 0) expect(row.madeAt.length).toBeGreaterThan(0);
    }
    const grown = orderRows(
      day.orders.lines.map((line, i) => (i === 0 ? { ...line, pieces: line.pieces + 5 } : line)),
      plan,
    );
    expect(grown[0]!.fate).toBe("not-drawn");
  });

  it("are found by words, site and fate, and sorted either way", () => {
    const rows = orderRows(day.orders.lines, plan);
    const found = filterRows(rows, { text: "PLAIN ring", site: "quay-shop", fate: "" });
    expect(found.length).toBeGreaterThan(0);
    expect(found.every((row) => row.product === "Plain ring" && row.line.site === "quay-shop")).toBe(true);
    const up = sortRows(rows, "pieces", false).map((row) => row.line.pieces);
    expect(up).toEqual([...up].sort((a, b) => a - b));
    expect(sortRows(rows, "due", true)[0]!.dueMs).toBe(Math.max(...rows.map((row) => row.dueMs!)));
  });

  it("a draft tells what is new, changed and gone", () => {
    const { lines } = day.orders;
    expect(draftChanges(lines, lines)).toEqual({ added: 0, changed: 0, removed: 0 });
    const draft = [
      ...lines.slice(1).map((line, i) => (i === 0 ? { ...line, pieces: 1 } : line)),
      { ...lines[0]!, id: freshId(lines) },
    ];
    expect(draftChanges(lines, draft)).toEqual({ added: 1, changed: 1, removed: 1 });
    expect(lines.some((line) => line.id === freshId(lines))).toBe(false);
  });

  it("only the rows on the screen are made, and the list is as long as all of them", () => {
    for (const top of [0, 333, 799_000]) {
      const view = rowsWindow(20_000, 42, top, 600);
      expect(view.last - view.first).toBeLessThan(40);
      expect(view.abovePx + view.belowPx + (view.last - view.first) * 42).toBe(20_000 * 42);
      expect(view.first * 42).toBeLessThanOrEqual(top);
    }
  });
});

describe("what if", { timeout: 60_000 }, () => {
  const edits: Edit[] = [
    { kind: "orders", factor: 1.5 },
    { kind: "orders", factor: 0.1, site: "quay-shop", product: "plain-ring" },
    { kind: "unit-out", unit: "weir-yard/oven-1/deck-1" },
    { kind: "unit-more", unit: "weir-yard/oven-1/deck-1" },
    { kind: "unit-more", unit: "weir-yard/walk-in" },
    { kind: "unit-more", unit: "weir-yard/bench-1" },
    { kind: "people", site: "weir-yard", crew: "night", heads: 2 },
    { kind: "people", site: "weir-yard", crew: "night", heads: -99 },
    { kind: "earlier", site: "weir-yard", crew: "night", minutes: 120 },
    { kind: "van", run: "quay-first", departs: "04:20" },
  ];

  it("every scenario is a day that passes the schemas and all checks, and the stored day stays as it was", () => {
    const before = JSON.stringify(day);
    for (const edit of edits) {
      const made = applyEdits(day, [edit]);
      for (const name of ["network", "orders", "happenings", "catalogue", "settings"] as const)
        expect(validateDocument(name, made[name]), editText(day, edit)).toEqual([]);
      expect(checkDay(made), editText(day, edit)).toEqual([]);
      expect(JSON.stringify(made)).not.toBe(before);
    }
    expect(JSON.stringify(day)).toBe(before);
    expect(checkDay(applyEdits(day, edits))).toEqual([]);
  });

  it("does what it says", () => {
    const pieces = (documents: DayDocuments): number =>
      documents.orders.lines.reduce((sum, line) => sum + line.pieces, 0);
    expect(pieces(applyEdits(day, [{ kind: "orders", factor: 2 }]))).toBe(2 * pieces(day));
    const more = applyEdits(day, [{ kind: "unit-more", unit: "weir-yard/oven-1/deck-1" }]);
    expect(more.network.sites[0]!.ovens[0]!.decks.length).toBe(day.network.sites[0]!.ovens[0]!.decks.length + 1);
    const early = applyEdits(day, [{ kind: "earlier", site: "weir-yard", crew: "night", minutes: 120 }]);
    const shift = early.network.sites[0]!.crew.find((group) => group.id === "night")!.shifts[0]!;
    expect(shift.from).toBe("23:30");
    expect(allUnits(day).map((unit) => unit.ref)).toContain("weir-yard/oven-2/deck-3");
  });

  it("remedies keep the server's own form, and what has no such form is not sent half", () => {
    const change = { kind: "more-pans", site: "weir-yard", panType: "full-sheet", count: 20 };
    const remedy: Edit = { kind: "change", change, words: "20 pans more" };
    expect(asChanges([{ kind: "orders", factor: 1.2, site: "quay-shop" }, remedy])).toEqual([
      { kind: "multiply-orders", times: 1.2, of: { sites: ["quay-shop"] } },
      change,
    ]);
    expect(asChanges([remedy, { kind: "unit-out", unit: "weir-yard/oven-1" }])).toBeUndefined();
    expect(editText(day, remedy)).toBe("20 pans more");
  });

  it("fullness is between nothing and all, and adds up to the minutes baked", () => {
    const rows = fullness(plan);
    for (const row of rows)
      for (const cell of row.cells) if (cell.share !== undefined) expect(cell.share).toBeGreaterThanOrEqual(0);
    const oven = rows.find((row) => row.site === "weir-yard" && row.station === "oven")!;
    const panMinutes = plan.tasks
      .filter((task) => task.task.does === "bake" && task.site === "weir-yard")
      .reduce((sum, task) => sum + (task.task.places?.length ?? 0) * (task.toMs - task.fromMs), 0);
    const room = 24 * 3_600_000;
    expect(oven.cells.reduce((sum, cell) => sum + (cell.share ?? 0) * room, 0)).toBeCloseTo(panMinutes, -2);
  });
});

describe("fridge and ovens at an instant", { timeout: 60_000 }, () => {
  it("shows what the timetable has there, each in its position, inside the shelf or deck", () => {
    const stays = new Stays(plan);
    for (let ms = plan.span.fromMs; ms < plan.span.toMs; ms += 97 * 60_000) {
      for (const site of plan.day.network.sites) {
        const shown = [
          ...site.fridges.flatMap((fridge) => fridgeAt(stays, site.id, fridge, ms)),
          ...site.ovens.flatMap((oven) => ovenAt(stays, site.id, oven, ms)),
        ];
        const items = shown.flatMap((view) => view.standing.map((one) => one.item));
        const there = plan.tasks
          .filter(
            (task) =>
              task.site === site.id &&
              task.fromMs <= ms &&
              ms < task.toMs &&
              (task.task.does === "retard" || task.task.does === "bake"),
          )
          .flatMap((task) => (task.task.places ?? []).map((place) => place.item));
        expect([...items].sort()).toEqual(there.sort());
        for (const view of shown)
          for (const one of view.standing)
            expect(view.layout.places[one.position - 1], `${view.unit} ${one.position}`).toBeDefined();
      }
    }
  });

  it("a verified timetable has nothing over its time or mass; pieces on pans add up to the load", () => {
    const stays = new Stays(plan);
    for (const task of plan.tasks.filter((one) => one.task.does === "bake").slice(0, 30)) {
      const site = plan.sites.get(task.site)!;
      const oven = site.ovens.find((one) => task.task.unit!.startsWith(`${site.id}/${one.id}/`))!;
      const view = ovenAt(stays, site.id, oven, task.fromMs).find((one) => one.unit === task.task.unit)!;
      expect(view.heat).toBe("hot");
      expect(view.tempC).toBe(task.task.tempC);
      const own = view.standing.filter((one) => one.task.id === task.id);
      expect(own.reduce((sum, one) => sum + one.onPan, 0)).toBe(task.load!.pieces);
    }
    for (let ms = plan.span.fromMs; ms < plan.span.toMs; ms += 3_600_000)
      for (const view of fridgeAt(stays, "weir-yard", plan.sites.get("weir-yard")!.fridges[0]!, ms)) {
        expect(view.massG).toBeLessThanOrEqual(view.shelf.maxMassG);
        expect(view.standing.some((one) => one.overMass || one.overTime)).toBe(false);
      }
  });
});

describe("forms from schemas", { timeout: 60_000 }, () => {
  it("every place to set up has a schema and a value", () => {
    for (const place of placesOf(day)) {
      const value = valueAt(day[place.document], place.path);
      expect(value, place.key).toBeDefined();
      if (place.definition !== "Ingredients")
        expect(schemaOf(place.document, place.definition).schema.type, place.key).toBe("object");
    }
  });

  it("a new item has what the schema needs", () => {
    const deck = emptyOf(schemaOf("network", "Deck")) as Record<string, unknown>;
    expect(Object.keys(deck)).toEqual(schemaOf("network", "Deck").schema.required);
    expect(emptyOf(schemaOf("network", "Site"))).toMatchObject({ mixers: [], crew: [] });
  });

  it("changes by path leave the rest alone, and pointers are those of RFC 6901", () => {
    const next = withValue(day.network, ["sites", 0, "ovens", 0, "decks", 1, "widthMm"], 999) as typeof day.network;
    expect(next.sites[0]!.ovens[0]!.decks[1]!.widthMm).toBe(999);
    expect(next.sites[0]!.ovens[0]!.decks[0]).toBe(day.network.sites[0]!.ovens[0]!.decks[0]);
    expect(day.network.sites[0]!.ovens[0]!.decks[1]!.widthMm).not.toBe(999);
    expect(withValue({ a: 1, b: 2 }, ["a"], undefined)).toEqual({ b: 2 });
    // The escapes of RFC 6901, section 3.
    expect(pointerOf(["a/b", "m~n", 0])).toBe("/a~1b/m~0n/0");
  });

  it("a fault's pointer leads to the form that shows it", () => {
    const places = placesOf(day);
    expect(placeOf(places, "network", "/sites/0/ovens/1/decks/0/widthMm")?.name).toBe("Deck oven west");
    expect(placeOf(places, "settings", "/window/from")?.document).toBe("settings");
  });

  it("labels read as words with their unit, and numbers are held to the schema", () => {
    expect(labelOf("clearHeightMm")).toBe("Clear height, mm");
    expect(labelOf("heatUpCPerMinute")).toBe("Heats up by, °C a minute");
    expect(labelOf("powerKw")).toBe("Power, kW");
    const { schema } = { schema: { type: "integer", minimum: 1, maximum: 5 } };
    expect([
      numberTrouble(schema, "3"),
      numberTrouble(schema, "0"),
      numberTrouble(schema, "9"),
      numberTrouble(schema, "1.5"),
      numberTrouble(schema, "x"),
    ]).toEqual([undefined, "At least 1.", "At most 5.", "Give a whole number.", "Give a number."]);
  });
});
