import { beforeAll, describe, expect, it } from "vitest";
import type { DayChange, DayDocuments, Scenario } from "../../../schemas/index.js";
import { validateDocument } from "../../../schemas/validate.js";
import { readDayFolder, readScenarioFile } from "../../../services/day-folder.js";
import { applyScenario, CHANGE_KINDS, changeWords } from "../../../solver/scenario/index.js";

let day: DayDocuments;

beforeAll(async () => {
  const read = await readDayFolder("services/demo/holiday-spike");
  if ("issues" in read) throw new Error(JSON.stringify(read.issues));
  day = read.day;
});

const site = (of: DayDocuments, id = "weir-yard") => of.network.sites.find((own) => own.id === id)!;
const line = (of: DayDocuments, id: string) => of.orders.lines.find((own) => own.id === id)!;

/** Each kind once: the change, and what it must have done. */
const DONE: readonly (readonly [DayChange, (before: DayDocuments, after: DayDocuments) => void])[] = [
  [
    { kind: "multiply-orders", of: { products: ["plain-ring"] }, times: 1.5 },
    (before, after) => {
      expect(line(after, "line-001").pieces).toBe(Math.ceil(line(before, "line-001").pieces * 1.5));
      expect(line(after, "line-002").pieces).toBe(line(before, "line-002").pieces);
    },
  ],
  [
    {
      kind: "add-line",
      line: { id: "extra", product: "baton", pieces: 8, site: "quay-shop", due: "2026-12-24T09:00" },
    },
    (before, after) => expect(after.orders.lines.length).toBe(before.orders.lines.length + 1),
  ],
  [
    { kind: "drop-lines", of: { lines: ["line-001", "line-002"] } },
    (before, after) => expect(after.orders.lines.length).toBe(before.orders.lines.length - 2),
  ],
  [
    { kind: "move-due", of: { lines: ["line-001"] }, minutesLater: -90 },
    (_before, after) => expect(Date.parse(line(after, "line-001").due)).toBe(Date.parse("2026-12-24T04:30:00Z")),
  ],
  [
    { kind: "bake-at", of: { lines: ["line-064"] }, site: "weir-yard" },
    (_before, after) => expect(line(after, "line-064").madeAt).toBe("weir-yard"),
  ],
  [
    { kind: "more-people", site: "weir-yard", crew: "night", from: "01:30", to: "09:30", heads: 2 },
    (before, after) =>
      expect(site(after).crew.find(({ id }) => id === "night")!.shifts.length).toBe(
        site(before).crew.find(({ id }) => id === "night")!.shifts.length + 1,
      ),
  ],
  [
    { kind: "crew-size", site: "weir-yard", crew: "night", heads: -5 },
    (before, after) => {
      const shifts = (of: DayDocuments) => site(of).crew.find(({ id }) => id === "night")!.shifts;
      const left = shifts(before).filter(({ heads }) => heads > 5);
      expect(shifts(after).map(({ heads }) => heads)).toEqual(left.map(({ heads }) => heads - 5));
      // Nobody can go on a break who is not there.
      for (const { heads, breaks } of shifts(after))
        for (const one of breaks!) expect(one.heads!).toBeLessThanOrEqual(heads);
    },
  ],
  [
    { kind: "shift-hours", site: "weir-yard", crew: "evening", minutesEarlier: 60 },
    (_before, after) => expect(site(after).crew.find(({ id }) => id === "evening")!.shifts[0]!.from).toBe("11:30"),
  ],
  [
    { kind: "rent-fridge", site: "weir-yard", like: "walk-in", shelves: 10 },
    (before, after) => {
      expect(site(after).fridges.at(-1)!.shelves.length).toBe(10);
      expect(site(after).fridges.at(-1)!.heatRemovalW).toBeCloseTo(site(before).fridges[0]!.heatRemovalW / 4);
    },
  ],
  [
    { kind: "more-pans", site: "weir-yard", panType: "full-sheet", count: 20 },
    (before, after) => expect(site(after).pans[0]!.count).toBe(site(before).pans[0]!.count + 20),
  ],
  [
    { kind: "more-tubs", site: "weir-yard", tubType: "tub-60x40", count: 5 },
    (before, after) => expect(site(after).tubs[0]!.count).toBe(site(before).tubs[0]!.count + 5),
  ],
  [
    { kind: "another-unit", like: "weir-yard/oven-1/deck-1" },
    (before, after) => expect(site(after).ovens[0]!.decks.length).toBe(site(before).ovens[0]!.decks.length + 1),
  ],
  [
    { kind: "pan-fill", product: "plain-ring", piecesPerPan: 6 },
    (_before, after) => expect(after.catalogue.products.find(({ id }) => id === "plain-ring")!.piecesPerPan).toBe(6),
  ],
  [
    { kind: "other-pan", product: "baton", panType: "board-600x400" },
    (_before, after) =>
      expect(after.catalogue.products.find(({ id }) => id === "baton")!.panType).toBe("board-600x400"),
  ],
  [
    { kind: "tub-fill", tubType: "tub-60x40", maxDoughG: 6000 },
    (_before, after) => expect(after.network.tubTypes[0]!.maxDoughG).toBe(6000),
  ],
  [
    { kind: "only-routes", products: ["plain-ring", "baton"], routes: ["pans"] },
    (before, after) => {
      const routes = (of: DayDocuments, id: string) =>
        of.catalogue.products.find((own) => own.id === id)!.routes.length;
      expect(routes(after, "plain-ring")).toBe(1);
      expect(routes(after, "baton")).toBe(routes(before, "baton"));
    },
  ],
  [
    { kind: "start-earlier", minutes: 240 },
    (_before, after) => expect(Date.parse(after.settings.window.from)).toBe(Date.parse("2026-12-23T08:00:00Z")),
  ],
  [
    { kind: "another-run", like: "quay-cold", departs: "18:30" },
    (before, after) => expect(after.network.vanRuns.length).toBe(before.network.vanRuns.length + 1),
  ],
  [
    {
      kind: "unplanned",
      happening: { kind: "out-of-service", unit: "weir-yard/oven-1/deck-1", from: "2026-12-24T05:00" },
    },
    (_before, after) => expect(after.happenings.happenings.length).toBe(1),
  ],
];

function scenario(...changes: DayChange[]): Scenario {
  return { format: "scenario/1", name: "what if", changes: changes as Scenario["changes"] };
}

describe("changes of a scenario", () => {
  it("are all tried here", () => {
    expect(DONE.map(([change]) => change.kind).sort()).toEqual([...CHANGE_KINDS].sort());
  });

  it.each(DONE.map(([change, done]) => [change.kind, change, done] as const))("%s", (_kind, change, done) => {
    const before = JSON.stringify(day);
    expect(validateDocument("scenario", scenario(change))).toEqual([]);
    const applied = applyScenario(day, scenario(change));
    if ("issues" in applied) throw new Error(JSON.stringify(applied.issues));
    done(day, applied.day);
    expect(JSON.stringify(day), "the day itself is not edited").toBe(before);
    expect(changeWords(day, change)).toMatch(/^\S.{5,}\S$/);
    expect(changeWords(day, change)).not.toMatch(/undefined|NaN|\[object/);
  });

  it.each([
    [{ kind: "rent-fridge", site: "nowhere", like: "walk-in", shelves: 1 }, "/changes/0/site", "unknown-site"],
    [{ kind: "rent-fridge", site: "weir-yard", like: "cellar", shelves: 1 }, "/changes/0/like", "unknown-unit"],
    [
      { kind: "more-people", site: "weir-yard", crew: "x", from: "01:00", to: "02:00", heads: 1 },
      "/changes/0/crew",
      "unknown-crew",
    ],
    [{ kind: "crew-size", site: "weir-yard", crew: "x", heads: 1 }, "/changes/0/crew", "unknown-crew"],
    [
      { kind: "multiply-orders", of: { products: ["plain-ring", "x"] }, times: 2 },
      "/changes/0/of/products/1",
      "unknown-product",
    ],
    [{ kind: "pan-fill", product: "plain-ring", piecesPerPan: 400 }, "/changes/0/piecesPerPan", "out-of-range"],
    [{ kind: "another-unit", like: "weir-yard/oven-9" }, "/changes/0/like", "unknown-unit"],
    [
      { kind: "shift-hours", site: "weir-yard", crew: "evening", minutesLater: -600 },
      "/changes/0/minutesEarlier",
      "out-of-range",
    ],
  ] as [DayChange, string, string][])("says what is wrong: %j", (change, pointer, code) => {
    const applied = applyScenario(day, scenario(change));
    if (!("issues" in applied)) throw new Error("was taken");
    const [issue] = applied.issues;
    expect(issue).toMatchObject({ pointer, code, document: "scenario" });
    expect(issue!.message).toMatch(/\w.*\.$/);
    expect(issue!.fix).toMatch(/\w/);
  });

  it("a day that a change breaks is told like any other", () => {
    const applied = applyScenario(day, scenario({ kind: "move-due", minutesLater: 1440 }));
    expect("issues" in applied && applied.issues.some(({ code }) => code === "due-outside-window")).toBe(true);
  });

  it.each(["rented-fridge", "shops-bake-more"])("the demo's %s is in order", async (name) => {
    const read = await readScenarioFile(`services/demo/what-if/${name}.json`);
    if ("issues" in read) throw new Error(JSON.stringify(read.issues));
    expect("day" in applyScenario(day, read.scenario)).toBe(true);
  });
});
