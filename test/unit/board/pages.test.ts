import { Ajv2020 } from "ajv/dist/2020.js";
import { beforeAll, describe, expect, it } from "vitest";
import * as documents from "../../../schemas/documents.js";
import type { DayChange, DayDocuments, Happening, OrderLine, Scenario } from "../../../schemas/index.js";
import { validateDocument } from "../../../schemas/validate.js";
import { firstValues } from "../../../services/board/logic/asks.js";
import { fullness } from "../../../services/board/logic/fullness.js";
import { imaginings } from "../../../services/board/logic/imagine.js";
import { fridgeAt, ovenAt, Stays } from "../../../services/board/logic/instant.js";
import {
  draftChanges,
  filterRows,
  freshId,
  orderRows,
  placeInOrders,
  sortRows,
} from "../../../services/board/logic/orders.js";
import { type Plan, readPlan } from "../../../services/board/logic/plan.js";
import {
  changeText,
  fromTheBeginning,
  imagined,
  leavesOut,
  readScenario,
} from "../../../services/board/logic/scenario.js";
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
import { tally } from "../../../services/board/logic/summary.js";
import { wishings, wishText } from "../../../services/board/logic/wishes.js";
import { rowsWindow } from "../../../services/board/parts/rows-window.js";
import { account } from "../../../solver/balance/account.js";
import { applyScenario } from "../../../solver/scenario/index.js";
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
    const rows = orderRows(day.orders.lines, day, plan);
    for (const row of rows) {
      const outcome = plan.outcomes.get(row.line.id)!;
      const fate = outcome.shortPieces > 0 ? "short" : outcome.lateMinutes > 0 ? "late" : "on-time";
      expect(row.fate).toBe(fate);
      if (outcome.pieces > 0) expect(row.madeAt.length).toBeGreaterThan(0);
    }
    const grown = orderRows(
      day.orders.lines.map((line, i) => (i === 0 ? { ...line, pieces: line.pieces + 5 } : line)),
      day,
      plan,
    );
    expect(grown[0]!.fate).toBe("not-drawn");
  });

  it("a line that is ordered otherwise than drawn is counted as neither on time nor late", () => {
    expect(tally(plan)).toMatchObject({ orders: day.orders.lines.length, notDrawn: 0 });
    const at = day.orders.lines.findIndex(({ id }) => plan.outcomes.get(id)?.state === "on-time");
    const line = day.orders.lines[at]!;
    const other = (list: readonly { id: string }[], own: string): string => list.find(({ id }) => id !== own)!.id;
    const changes: Partial<OrderLine>[] = [
      { pieces: line.pieces + 1 },
      { due: "2026-11-27T05:07" },
      { product: other(day.catalogue.products, line.product) },
      { site: other(day.network.sites, line.site) },
      { id: "line-new" },
    ];
    for (const change of changes) {
      const lines = day.orders.lines.map((one, i) => (i === at ? { ...line, ...change } : one));
      const count = tally(readPlan({ ...day, orders: { ...day.orders, lines } }, plan.timetable));
      expect(count.notDrawn, JSON.stringify(change)).toBe(1);
      if (!change.id) expect(count).toMatchObject({ orders: lines.length, onTime: tally(plan).onTime - 1 });
    }
    // Neither who it is for nor what it counts changes what is made.
    const renamed = day.orders.lines.map((one, i) => (i === at ? { ...line, customer: "The corner" } : one));
    expect(tally(readPlan({ ...day, orders: { ...day.orders, lines: renamed } }, plan.timetable)).notDrawn).toBe(0);
    // What is taken out of the orders, or cancelled, is no order that could be on time.
    const lines = day.orders.lines.slice(1);
    const [first] = day.orders.lines;
    const told: Happening = { kind: "order-cancelled", line: first!.id };
    const cancelled = { ...day, happenings: { ...day.happenings, happenings: [told] } };
    for (const less of [{ ...day, orders: { ...day.orders, lines } }, cancelled])
      expect(tally(readPlan(less, plan.timetable)).orders).toBe(lines.length);
  });

  it("are found by words, site and fate, and sorted either way", () => {
    const rows = orderRows(day.orders.lines, day, plan);
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
    expect(placeInOrders(lines, "/lines/17/product")).toBe(`${lines[17]!.id}, product`);
    expect(placeInOrders(lines, "/format")).toBeUndefined();
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
  const scenario = (changes: DayChange[]): Scenario => ({ format: "scenario/1", name: "what if", changes });

  it("everything that can be imagined is a change that the schemas and the server take, as the form first offers it", () => {
    const before = JSON.stringify(day);
    const kinds = imaginings(day);
    const changes = kinds.map((kind) => kind.make(firstValues(kind)));
    for (const [i, change] of changes.entries()) {
      expect(validateDocument("scenario", scenario([change])), kinds[i]!.text).toEqual([]);
      expect("day" in applyScenario(day, scenario([change])), kinds[i]!.text).toBe(true);
      expect(changeText(day, change)).not.toMatch(/undefined|NaN|weir-yard/);
    }
    expect(new Set(changes.map(({ kind }) => kind)).size).toBeGreaterThanOrEqual(11);
    expect(JSON.stringify(day)).toBe(before);
  });

  it("a remedy, a unit, people and a van go into one document, which the server takes as the board does", () => {
    const pick = (id: string, values: Record<string, string>): DayChange => {
      const kind = imaginings(day).find((one) => one.id === id)!;
      return kind.make({ ...firstValues(kind), ...values });
    };
    const changes = [
      pick("orders", { times: "1.2", for: "quay-shop" }),
      { kind: "more-pans", site: "weir-yard", panType: "full-sheet", count: 20 } as DayChange,
      pick("unit-out", { unit: "weir-yard/oven-1/deck-1" }),
      pick("people", { crew: "weir-yard/night", heads: "-2" }),
      pick("van", { run: "quay-first", departs: "04:20" }),
    ];
    const applied = applyScenario(day, scenario(changes));
    if ("issues" in applied) throw new Error(JSON.stringify(applied.issues));
    expect(imagined(day, changes)).toEqual(applied.day);
    expect(changes.map((change) => changeText(day, change))).toEqual([
      "every line for Quay shop x 1.2",
      "20 more pans (Full sheet pan 660 x 457) at Weir Yard commissary",
      "without Deck oven east, deck-1 at Weir Yard commissary",
      "2 people fewer in the Night crew at Weir Yard commissary",
      expect.stringMatching(/04:20/),
    ]);
  });

  it("every wish for the balance is one that the schemas take, in the words of the command line", () => {
    const wishes = wishings(day).map((kind) => kind.make(firstValues(kind)));
    expect(new Set(wishes.map(({ kind }) => kind))).toEqual(new Set(["bake-at", "share", "home"]));
    const ajv = new Ajv2020({ strict: false });
    for (const schema of Object.values(documents)) ajv.addSchema(schema);
    const check = ajv.getSchema("balance.schema.json#/$defs/Wish")!;
    for (const wish of wishes) {
      expect(check(wish), JSON.stringify(wish)).toBe(true);
      expect(wishText(day, wish)).not.toMatch(/undefined|weir-yard/);
    }
  });

  it("the account of a timetable adds up: what is baked is what is given, and what rides is what others bake", () => {
    const { sites, makes, transfers } = account(day, plan.timetable);
    const given = plan.timetable.loads.flatMap(({ orders }) => orders).reduce((sum, { pieces }) => sum + pieces, 0);
    const sum = (numbers: number[]): number => numbers.reduce((a, b) => a + b, 0);
    expect(sum(sites.map(({ bakedPieces }) => bakedPieces))).toBe(given);
    expect(sum(makes.map(({ pieces }) => pieces))).toBe(given);
    expect(sum(sites.map(({ sharePercent }) => sharePercent))).toBeCloseTo(100, 0);
    expect(sum(transfers.map(({ baked }) => baked))).toBe(sum(sites.map(({ bakedForOthers }) => bakedForOthers)));
    for (const ride of transfers) expect(ride.positions).toBeLessThanOrEqual(ride.room);
  });

  it("leaves out what has begun and what is pinned, and keeps what the day is known to be without", () => {
    const out = { kind: "out-of-service", unit: "weir-yard/oven-2", from: "2026-11-27T05:00" } as const;
    const told: DayDocuments = {
      ...day,
      happenings: {
        format: "happenings/1",
        at: "2026-11-27T04:00",
        happenings: [{ kind: "lock", task: "x" }, out, { kind: "started", task: "y", at: "2026-11-27T03:00" }],
      },
    };
    expect(leavesOut(told)).toBe(true);
    expect(leavesOut(day)).toBe(false);
    expect(fromTheBeginning(told).happenings).toEqual({ format: "happenings/1", happenings: [out] });
  });

  it("takes a scenario from a file, or says what is wrong with it", () => {
    const document = scenario([{ kind: "start-earlier", minutes: 60 }]);
    expect(readScenario(JSON.stringify(document))).toEqual(document);
    expect(readScenario("{")).toMatch(/no JSON/);
    expect(readScenario('{"format": "orders/1"}')).toMatch(/no scenario/);
    expect(readScenario('{"format": "scenario/1", "name": "x"}')).toMatch(/list of changes/);
    expect(readScenario('{"format": "scenario/1", "name": "x", "changes": [7]}')).toMatch(/Change 1/);
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
    expect(labelOf("coldAtMostC")).toBe("Cold at most, °C");
    expect(labelOf("horizontalCm")).toBe("Horizontal, cm");
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
