import { beforeAll, describe, expect, it } from "vitest";
import type { DayDocuments, Timetable } from "../../../schemas/index.js";
import { cautionsText } from "../../../services/text/cautions.js";
import { sheetsOf } from "../../../solver/sheets/index.js";
import { costingOf, foodCostPerPiece } from "../../../solver/trade/costing.js";
import { ingredientCp, liquidPlan, machineMinutes } from "../../../solver/trade/dough-liquid.js";
import { chillHeatW, peakOf } from "../../../solver/trade/fridge-load.js";
import { limitOf } from "../../../solver/trade/holding.js";
import { leadMinutes } from "../../../solver/trade/oven.js";
import { tubLimit } from "../../../solver/trade/tubs.js";
import { verify } from "../../../solver/verify/index.js";
import { drawn } from "../../support/drawn.js";

let day: DayDocuments;
let timetable: Timetable;

beforeAll(async () => {
  ({ day, timetable } = await drawn("ordinary-day", 200));
}, 60_000);

const dough = (id: string) => day.catalogue.doughs.find((each) => each.id === id)!;
const site = (id: string) => day.network.sites.find((each) => each.id === id)!;

describe("what binds in the demo", { timeout: 60_000 }, () => {
  it("a load of hearth dough fills tubs up to where it would over-ferment, not to where they are full", () => {
    const limit = tubLimit(day.network.tubTypes[0]!, dough("hearth"), site("weir-yard").fridges[0]!);
    expect(limit.by).toBe("fermentation");
    const { maxDoughG } = day.network.tubTypes[0]!;
    expect(limit.massG).toBeLessThan(maxDoughG);
    const tubs = timetable.loads.filter(({ product }) => product === "hearth-loaf").flatMap((load) => load.tubs);
    for (const tub of tubs) expect(tub.doughG).toBeLessThanOrEqual(limit.massG);
    // And it binds: some are filled to where a loaf more would be too much.
    const pieceG = Math.min(
      ...timetable.loads.filter(({ product }) => product === "hearth-loaf").map((load) => load.doughG / load.pieces),
    );
    expect(Math.max(...tubs.map(({ doughG }) => doughG))).toBeGreaterThan(limit.massG - pieceG);
    // A stricter limit: the verifier refuses the same tubs.
    const strict: DayDocuments = {
      ...day,
      catalogue: {
        ...day.catalogue,
        doughs: day.catalogue.doughs.map((each) =>
          each.id === "hearth" ? { ...each, ferment: { ...each.ferment!, greatestHours: 2.2 } } : each,
        ),
      },
    };
    expect(verify(strict, timetable).some(({ code }) => code === "over-fermented")).toBe(true);
  });

  it("ring tubs have less time in the cold than their route, and their labels say so", () => {
    const labels = sheetsOf(day, timetable)
      .filter(({ kind }) => kind === "labels")
      .flatMap(({ tables }) => tables[0]!.rows);
    const rings = labels.filter(({ dough: name }) => name === "Ring dough");
    expect(rings.length).toBeGreaterThan(0);
    const stays = rings.map(
      ({ in: from, latest }) => (Date.parse(latest as string) - Date.parse(from as string)) / 60_000,
    );
    expect(Math.min(...stays)).toBeLessThan(1020);
    expect(Math.max(...stays)).toBeLessThanOrEqual(1020);
  });

  it("the bridge shop's decks heat up by the heat balance, the others as measured", () => {
    const [deck] = site("bridge-shop").ovens[0]!.decks;
    expect(deck!.coldStartMinutes).toBeUndefined();
    expect(leadMinutes(deck!, site("bridge-shop").roomTempC)).toBe(50);
    const sheet = sheetsOf(day, timetable).find(({ id }) => id.startsWith("bridge-shop--oven--"))!;
    expect(sheet.facts.find(({ label }) => label === "Preheat")!.note).toBe("from the heat balance");
  });
});

describe("sums with which the sheets are filled", { timeout: 60_000 }, () => {
  it("the liquid by the method that the mixer's figures allow", () => {
    const ingredients = new Map(day.catalogue.ingredients.map((each) => [each.id, each]));
    const at = site("weir-yard");
    const ring = dough("ring");
    expect(machineMinutes(ring)).toBe(6);
    const estimated = liquidPlan(ring, ingredients, 20_000, at, {})!;
    expect([estimated.method, estimated.frictionFrom]).toEqual(["heat balance", "minutes"]);
    expect(estimated.frictionC).toBeCloseTo((6 * 2) / 1.8 / 3, 6);
    const measured = liquidPlan(ring, ingredients, 20_000, at, { frictionFactorC: 11 })!;
    expect([measured.method, measured.frictionFrom]).toEqual(["factor method", "factor"]);
    expect(measured.wantedC).toBeCloseTo(3 * 25 - 2 * 21 - 11, 6);
    const balance = liquidPlan(ring, ingredients, 20_000, at, { riseC: 12 })!;
    expect(balance.method).toBe("heat balance");
    expect(balance.state).toBe("iced");
    expect(balance.waterG + balance.iceG).toBeCloseTo((20_000 * 54) / 160.2, 3);
    expect(liquidPlan(dough("cookie"), ingredients, 5000, at, {})).toBeNull();
    expect(liquidPlan(dough("laminated"), ingredients, 5000, at, {})!.ingredient).toBe("milk");
  });

  it("all that is in the bowl comes to the dough's temperature, and what is not in it counts nothing", () => {
    const ingredients = new Map(day.catalogue.ingredients.map((each) => [each.id, each]));
    const at = site("weir-yard");
    /** kJ/(kg K) and C as it goes in. */
    const others: Readonly<Record<string, readonly [number, number]>> = {
      "strong-flour": [1.8, 21],
      yeast: [3.2, 4],
      salt: [1.8, 21],
      sugar: [1.8, 21],
      butter: [2.3, 12],
      egg: [3.2, 4],
    };
    const roll = dough("roll");
    const plan = liquidPlan(roll, ingredients, 20_000, at, { frictionFactorC: 11 })!;
    // The factor was measured, but on no such dough: butter and egg are cold.
    expect([plan.method, plan.frictionFrom, plan.frictionC]).toEqual(["heat balance", "factor", 11 / 3]);
    expect(plan.usualCp).toEqual([]);
    const bare = new Map([...ingredients].map(([id, { cpKjPerKgK: _, ...each }]) => [id, each]));
    expect(liquidPlan(roll, bare, 20_000, at, {})!.usualCp).toEqual(["yeast", "butter", "egg"]);
    // Mixed: heats of all over their heat capacities, and the mixer's rise.
    let heat = 0;
    let capacity = 0;
    for (const { ingredient, bakersPercent } of roll.formula) {
      const [cp, tempC] = ingredient === "milk" ? ([3.9, plan.wantedC] as const) : others[ingredient]!;
      heat += bakersPercent * cp * tempC;
      capacity += bakersPercent * cp;
    }
    expect(heat / capacity + 11 / 3).toBeCloseTo(roll.doughTempC, 9);

    // Butter that is folded in later is weighed and not in the bowl: as if there were none.
    const laminated = dough("laminated");
    expect(laminated.formula.find(({ ingredient }) => ingredient === "butter")!.inBowl).toBe(false);
    const later = liquidPlan(laminated, ingredients, 21_700, at, {})!;
    const formula = laminated.formula.filter(({ ingredient }) => ingredient !== "butter");
    const without = liquidPlan({ ...laminated, formula }, ingredients, 16_900, at, {})!;
    expect(later.wantedC).toBeCloseTo(without.wantedC, 9);
    const inBowl = laminated.formula.map((line) => ({ ...line, inBowl: true }));
    const mixedIn = liquidPlan({ ...laminated, formula: inBowl }, ingredients, 21_700, at, {})!;
    expect(mixedIn.wantedC).toBeGreaterThan(later.wantedC + 2);
  });

  it("a specific heat that is not given is the usual one of its kind", () => {
    expect(ingredientCp({})).toBe(1.8);
    expect(ingredientCp({ liquid: "water", storage: "chilled" })).toBe(4.186);
    expect(ingredientCp({ liquid: "other" })).toBe(3.9);
    expect(ingredientCp({ storage: "frozen" })).toBe(3);
    // Earle, appendix 7: apples and peaches by their water, 3.60 and 3.78 in the table.
    expect(Math.abs(ingredientCp({ waterPercent: 84 }) - 3.6)).toBeLessThan(0.1);
    expect(Math.abs(ingredientCp({ waterPercent: 87 }) - 3.78)).toBeLessThan(0.1);
    expect(ingredientCp({ waterPercent: 16, cpKjPerKgK: 2.3 })).toBe(2.3);
  });

  it("what would have to be colder than the tap is iced", () => {
    const ingredients = new Map(day.catalogue.ingredients.map((each) => [each.id, each]));
    const warm = { ...site("weir-yard"), roomTempC: 32, tapWaterTempC: 22 };
    const plan = liquidPlan(dough("tin"), ingredients, 30_000, warm, { riseC: 6 })!;
    expect(plan.state).toBe("iced");
    expect(plan.wantedC).toBeLessThan(22);
    // [calc] The ice melts and the water cools to the wanted temperature: no heat is left over.
    expect(plan.waterG * 4.186 * (22 - plan.wantedC)).toBeCloseTo(plan.iceG * (334 + 4.186 * plan.wantedC), 4);
  });

  it("a fridge's heat load is the sum of what is pulled down at once", () => {
    const ring = { ...dough("ring"), thermal: { densityKgPerM3: 1150, cpKjPerKgK: 2.7, conductivityWPerMK: 0.4 } };
    expect(chillHeatW(ring, 10_000)).toBeCloseTo((10_000 * 2.7 * 15) / (360 * 60), 9);
    expect(chillHeatW({ doughTempC: 25 }, 10_000)).toBe(0);
    const flows = [
      { from: 0, to: 10, watts: 5 },
      { from: 5, to: 15, watts: 7 },
      { from: 10, to: 20, watts: 1 },
    ];
    expect(peakOf(flows)).toEqual({ at: 5, watts: 12 });
    expect(peakOf([])).toBeNull();
  });

  it("of two limits the stricter counts, and both are named", () => {
    const limits = [
      { id: "l", jurisdiction: "J", source: "S", warmMinutes: 200, outOfColdMinutes: 30, coldAtMostC: 5 },
    ];
    const under = { limit: "l", holdingLimit: { warmMinutes: 240, label: "own" }, maxOutOfColdMinutes: 45 };
    expect(limitOf({ limits }, under)).toEqual({
      warmMinutes: 200,
      outOfColdMinutes: 30,
      coldAtMostC: 5,
      labels: ["own: 240 min warm", "J, S"],
    });
    expect(limitOf({}, {})).toEqual({ labels: [] });
  });

  it("food in a piece: dough with the divider's loss, and toppings", () => {
    const ring = day.catalogue.products.find(({ id }) => id === "sesame-ring")!;
    const costs = new Map(day.catalogue.ingredients.map((each) => [each.id, each.costPerKg ?? 0]));
    const formula = dough("ring").formula;
    const percent = formula.reduce((sum, line) => sum + line.bakersPercent, 0);
    const perKg = formula.reduce((sum, line) => sum + (line.bakersPercent / percent) * costs.get(line.ingredient)!, 0);
    const doughKg = ring.pieceG / (1 - ring.dividerLossPercent! / 100) / 1000;
    const topping = (ring.toppings![0]!.gPerPiece / 1000) * costs.get("sesame")!;
    expect(foodCostPerPiece(day, ring)).toBeCloseTo(doughKg * perKg + topping, 9);
    const costing = costingOf(day, timetable);
    const kwh = timetable.cost.parts.filter((part) => part.unit === "kWh").reduce((sum, part) => sum + part.amount, 0);
    expect(costing.energyTotal).toBeCloseTo(kwh, 9);
    expect(costing.uncosted).toEqual([]);
  });
});

describe("the cautions of a timetable", { timeout: 60_000 }, () => {
  it("are those that apply, with limits, lists and lifting", () => {
    const text = cautionsText(day, timetable);
    expect(text).toMatch(/Boiling water and steam scald/);
    expect(text).toMatch(/LYE BURNS/);
    expect(text).toMatch(/Limit checked against the timetable: Weir Yard food safety plan, invented for this demo/);
    expect(text).toMatch(/nothing is declared for crustaceans/);
    expect(text).not.toMatch(/\b(is|are) safe\b/);
    const weak: DayDocuments = {
      ...day,
      settings: { ...day.settings, lifting: { horizontalCm: 60, twistDegrees: 90 } },
    };
    expect(cautionsText(weak, timetable)).toMatch(/tubs are above the recommended weight limit of \d/);
    const none: Timetable = { ...timetable, tasks: [], loads: [], batches: [] };
    expect(cautionsText(day, none)).not.toMatch(/LYE|scald|Decks/);
  });
});
