import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { Dough, Fridge, TubType } from "../../../schemas/index.js";
import { scaleFormula } from "../../../solver/trade/dough.js";
import { greatestRetardMinutes, greatestTubForStayG } from "../../../solver/trade/fermentation.js";
import { leastProofMinutes, proofMinutes } from "../../../solver/trade/proof.js";
import { sphereCentre, sphereRadiusM } from "../../../solver/trade/shapes.js";
import { cToF, fToC, gToLb, lbToG } from "../../../solver/trade/units.js";
import { equivalentHours, growthRate, q10Rate, squareRootRate } from "../../../solver/trade/yeast.js";

/** Check values of the trade. Beside each its source; [calc] means worked out from the formula named, [memory] not read again. */

describe("yeast", { timeout: 60_000 }, () => {
  /** Formula: Rosso 1993 [memory]; cardinal temperatures: Salvado 2011 (PMC3067424), Tmin 2.8 from the genus' range; values [calc]. */
  it.each([
    [4, 0.0042],
    [5, 0.0139],
    [10, 0.1352],
    [15, 0.3458],
    [20, 0.5965],
    [25, 0.8302],
    [30, 0.9802],
    [32.3, 1],
    [35, 0.9682],
    [40, 0.7016],
    [2, 0],
    [46, 0],
  ])("growth at %f C is %f of the best", (tempC, share) => {
    expect(growthRate(tempC)).toBeCloseTo(share, 4);
  });

  /** Ratkowsky's square-root model, Tmin 2.8 [calc]. */
  it("square-root model", () => {
    expect(squareRootRate(25, 10)).toBeCloseTo(9.507, 3);
    expect(squareRootRate(25, 5)).toBeCloseTo(101.8, 1);
  });

  /** Q10 = 2 [calc]; the literature has 1.5-3 [memory]; the trade's "halves for 17 F" is 2.1 (address withheld). */
  it.each([
    [4, 0.2333],
    [5, 0.25],
    [10, 0.3536],
    [15, 0.5],
    [35, 2],
  ])("Q10 at %f C", (tempC, rate) => {
    expect(q10Rate(tempC, 25)).toBeCloseTo(rate, 4);
  });

  it("halving for 17 F is a Q10 of about 2.1", () => {
    expect(2 ** (10 / (17 / 1.8))).toBeCloseTo(2.1, 1);
  });

  /** [calc] equivalent hours at 25 C. */
  it.each([
    [12, 2.7991],
    [24, 5.5982],
    [48, 11.1964],
  ])("%f h at 4 C are %f h", (hours, equivalent) => {
    expect(equivalentHours({ model: "q10", atTempC: 25 }, () => 4, hours)).toBeCloseTo(equivalent, 4);
  });

  /** [calc] closed form with exponential integrals: lumped from 25 to 4 C in 12 h. */
  it.each([
    [0.5, 3.0577, 0.4138],
    [1, 3.3162, 0.7667],
    [2, 3.8317, 1.4716],
    [4, 4.7987, 2.8418],
  ])("lumped with tau %f h: Q10 %f h, growth %f h", (tau, q10, growth) => {
    const curve = (hour: number): number => 4 + 21 * Math.exp(-hour / tau);
    expect(equivalentHours({ model: "q10", atTempC: 25 }, curve, 12, 4000)).toBeCloseTo(q10, 3);
    expect(equivalentHours({ model: "growth", atTempC: 25 }, curve, 12, 4000)).toBeCloseTo(growth, 3);
  });

  /** [calc] the middle of balls of 2 and 10 kg, film 10, in 12 h: why masses are split. */
  it.each([
    [2, 5.16, 3.28],
    [10, 7.76, 7.03],
  ])("the middle of a ball of %f kg ferments %f h in 12 h (growth %f h)", (massKg, q10, growth) => {
    const r = sphereRadiusM(massKg, 1150);
    const curve = (hour: number): number => 4 + 21 * sphereCentre((10 * r) / 0.4, (1.28824e-7 * hour * 3600) / r ** 2);
    expect(equivalentHours({ model: "q10", atTempC: 25 }, curve, 12, 120)).toBeCloseTo(q10, 1);
    expect(equivalentHours({ model: "growth", atTempC: 25 }, curve, 12, 120)).toBeCloseTo(growth, 1);
  });
});

const TUB: TubType = {
  id: "t",
  name: "T",
  widthMm: 600,
  depthMm: 400,
  heightMm: 300,
  innerWidthMm: 560,
  innerDepthMm: 360,
  maxDoughG: 40_000,
  massG: 1400,
};
const FRIDGE: Fridge = { id: "f", name: "F", airTempC: 3, filmWPerM2K: 10, heatRemovalW: 1000, shelves: [] };
const DOUGH = {
  id: "d",
  name: "D",
  doughTempC: 25,
  ferment: { greatestHours: 7, atTempC: 25, model: "q10" },
} as unknown as Dough;

describe("the retard window of a tub", { timeout: 60_000 }, () => {
  it("is shorter the bigger the tub and the warmer the fridge", () => {
    const minutes = [2000, 5000, 10_000, 20_000].map((massG) => greatestRetardMinutes(DOUGH, TUB, FRIDGE, massG));
    for (let i = 1; i < minutes.length; i++) expect(minutes[i]!).toBeLessThan(minutes[i - 1]!);
    expect(greatestRetardMinutes(DOUGH, TUB, { ...FRIDGE, airTempC: 6 }, 5000)).toBeLessThan(minutes[1]!);
    expect(greatestRetardMinutes({ ...DOUGH, ferment: undefined } as unknown as Dough, TUB, FRIDGE, 5000)).toBe(
      Number.POSITIVE_INFINITY,
    );
  });

  it("a dough that is cold from the start is bounded by the rate in the fridge", () => {
    const cold = { ...DOUGH, doughTempC: 3 } as Dough;
    const minutes = greatestRetardMinutes(cold, TUB, FRIDGE, 5000);
    expect(minutes / 60).toBeCloseTo((7 * 0.995) / q10Rate(3, 25), 1);
  });

  it("the greatest tub for a stay may just stay that long", () => {
    const massG = greatestTubForStayG(DOUGH, TUB, FRIDGE, 1000, 40_000);
    expect(greatestRetardMinutes(DOUGH, TUB, FRIDGE, massG)).toBeGreaterThanOrEqual(1000);
    expect(greatestRetardMinutes(DOUGH, TUB, FRIDGE, massG + 100)).toBeLessThan(1000);
    expect(greatestTubForStayG(DOUGH, TUB, { ...FRIDGE, airTempC: 20 }, 1000, 40_000)).toBe(0);
  });
});

describe("proof", { timeout: 60_000 }, () => {
  const typical = { typicalMinutes: 45, atTempC: 30, q10: 2 };

  /** Proof of rings 20-30 min at 29-32 C after tempering (processfood.blogspot.com); Q10 of 2 [memory]. */
  it("takes its typical time at its temperature, longer in the cold, shorter in the warm", () => {
    expect(proofMinutes({ ...typical, doughTempC: 30, airTempC: 30 })).toBeCloseTo(45, 6);
    expect(proofMinutes({ ...typical, doughTempC: 20, airTempC: 20 })).toBeCloseTo(90, 6);
    expect(proofMinutes({ ...typical, doughTempC: 40, airTempC: 40 })).toBeCloseTo(22.5, 6);
    const warming = proofMinutes({ ...typical, doughTempC: 20, airTempC: 30 });
    expect(warming).toBeGreaterThan(45);
    expect(warming).toBeLessThan(90);
  });

  it("stays inside the window of the route", () => {
    const step = { does: "proof", leastMinutes: 40, greatestMinutes: 60, typicalMinutes: 45, atTempC: 30 } as const;
    expect(leastProofMinutes(step, 10, 20)).toBe(60);
    expect(leastProofMinutes(step, 35, 38)).toBe(40);
    expect(leastProofMinutes({ ...step, typicalMinutes: undefined } as never, 10, 20)).toBe(40);
  });
});

describe("units", { timeout: 60_000 }, () => {
  it("there and back", () => {
    fc.assert(
      fc.property(fc.double({ min: -50, max: 500, noNaN: true }), (x) => {
        expect(fToC(cToF(x))).toBeCloseTo(x, 9);
        expect(lbToG(gToLb(x))).toBeCloseTo(x, 9);
      }),
    );
    expect([cToF(0), cToF(100), fToC(-40)]).toEqual([32, 212, -40]);
  });

  it("scaling a formula is linear and keeps the total", () => {
    const formula = [
      { ingredient: "flour", bakersPercent: 100 },
      { ingredient: "water", bakersPercent: 57 },
      { ingredient: "salt", bakersPercent: 2 },
    ];
    fc.assert(
      fc.property(
        fc.double({ min: 1, max: 1e6, noNaN: true }),
        fc.double({ min: 0.1, max: 10, noNaN: true }),
        (m, k) => {
          const once = scaleFormula({ formula }, m);
          const times = scaleFormula({ formula }, m * k);
          once.forEach((line, i) => {
            expect(times[i]!.massG / (line.massG * k)).toBeCloseTo(1, 9);
          });
          expect(once.reduce((sum, line) => sum + line.massG, 0) / m).toBeCloseTo(1, 9);
        },
      ),
    );
  });
});
