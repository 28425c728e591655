import { describe, expect, it } from "vitest";
import type { BoilStep, Dough, Fridge, Kettle, Product, TubType } from "../../../schemas/index.js";
import { blockCentre, greatestTubMassG, slabCentre, slabRoots } from "../../../solver/trade/cooling.js";
import { doughForPiecesG, mixerLimitG, needsClean, scaleFormula } from "../../../solver/trade/dough.js";
import { boilCycleSeconds, boilingTempC, boilMinutes, dips, heatUpMinutes } from "../../../solver/trade/kettle.js";
import { WHEAT_DOUGH } from "../../../solver/trade/thermal.js";
import { tubMiddleC } from "../../../solver/verify/r05-chilling.js";
import { slabMiddle } from "../../../solver/verify/slab.js";

describe("dough sums", () => {
  /** Worked out from the formula: 300 pieces of 105 g baked, 11 % loss, 2 % scrap -> 36.116 kg; here as one divider loss. */
  it("yield: pieces over what is left after losses", () => {
    const pieceG = 105 / (1 - 0.11);
    expect(doughForPiecesG({ pieceG, dividerLossPercent: 2 }, 300) / 1000).toBeCloseTo(36.116, 2);
    expect(doughForPiecesG({ pieceG: 100 }, 7)).toBe(700);
  });

  /** Source: en.m.wikibooks.org, Cookbook: Bagel, worked formula: flour 530, yeast 14, water 351.53, sugar 50, salt 20 -> total 965.53 g. */
  it("baker's percent: grams of a formula add up to the batch", () => {
    const formula = [
      { ingredient: "flour", bakersPercent: 100, flour: true },
      { ingredient: "yeast", bakersPercent: 2.6415 },
      { ingredient: "water", bakersPercent: 66.3264 },
      { ingredient: "sugar", bakersPercent: 9.434 },
      { ingredient: "salt", bakersPercent: 3.7736 },
    ];
    const grams = new Map(scaleFormula({ formula }, 965.53).map((line) => [line.ingredient, line.massG]));
    expect(grams.get("flour")).toBeCloseTo(530, 1);
    expect(grams.get("water")).toBeCloseTo(351.53, 1);
    expect(grams.get("salt")).toBeCloseTo(20, 1);
    expect([...grams.values()].reduce((a, b) => a + b)).toBeCloseTo(965.53, 6);
  });

  /** Source: a maker's chart, planetary 60 qt: 36, 63, 63, 72 lb at 40, 50, 55, 60 % absorption. */
  it("mixer limit by stiffness: the row at or below", () => {
    const lb = 453.59237;
    const limits = [40, 50, 55, 60].map((fromAbsorptionPercent, i) => ({
      fromAbsorptionPercent,
      maxDoughG: [36, 63, 63, 72][i]! * lb,
    }));
    expect(mixerLimitG({ limits }, 54)).toBeCloseTo(63 * lb, 6);
    expect(mixerLimitG({ limits }, 60)).toBeCloseTo(72 * lb, 6);
    expect(mixerLimitG({ limits }, 39)).toBeNull();
  });

  /** Common practice, no source: A within B needs no changeover clean; any lost allergen does. */
  it("cleans when an allergen is lost", () => {
    const milk = new Set(["gluten", "milk"]);
    const plain = new Set(["gluten"]);
    expect(needsClean(plain, milk)).toBe(false);
    expect(needsClean(milk, plain)).toBe(true);
    expect(needsClean(milk, milk)).toBe(false);
  });
});

describe("cooling", () => {
  /** Source: table 4-2 of heat-transfer handbooks, recomputed: first eigenvalue of a plane wall by Biot number. */
  it.each([
    [0.1, 0.3111],
    [0.5, 0.6533],
    [1, 0.8603],
    [2, 1.0769],
    [5, 1.3138],
    [10, 1.4289],
  ])("Biot %f: first eigenvalue %f", (biot, z) => {
    expect(slabRoots(biot, 1)[0]).toBeCloseTo(z, 3);
  });

  /** Worked out from the full series for the wall. */
  it.each([
    [1, 0.5, 0.7725],
    [2, 0.4, 0.7399],
    [5, 0.3, 0.7363],
  ])("Biot %f, Fourier %f: centre at %f", (biot, fourier, theta) => {
    expect(slabCentre(biot, fourier)).toBeCloseTo(theta, 3);
  });

  /** Worked out from the one-term and full series: 10 kg spread on 457 x 660, 28.8 mm, both sides cooled: hours to 10 C from 25 C in 4 C air. */
  it.each([
    [5, 3.38],
    [10, 1.82],
    [20, 1.04],
  ])("film %f: a spread dough reaches 10 C in %f h", (film, hours) => {
    const half = 0.0288 / 2;
    const alpha = WHEAT_DOUGH.conductivityWPerMK / (WHEAT_DOUGH.densityKgPerM3 * WHEAT_DOUGH.cpKjPerKgK * 1000);
    const theta = slabCentre((film * half) / WHEAT_DOUGH.conductivityWPerMK, (alpha * hours * 3600) / half ** 2);
    expect(theta).toBeCloseTo((10 - 4) / (25 - 4), 2);
  });

  it("the series and the verifier's finite differences agree", () => {
    const alpha = 1.28824e-7;
    for (const half of [0.02, 0.05, 0.2]) {
      for (const film of [5, 12, 30]) {
        for (const hours of [1, 4, 10]) {
          const series = slabCentre((film * half) / 0.4, (alpha * hours * 3600) / half ** 2);
          expect(slabMiddle(half, alpha, 0.4, film, hours * 3600)).toBeCloseTo(series, 3);
        }
      }
    }
  });

  it("the greatest tub just chills by the verifier's reckoning, and a tenth more does not", () => {
    const tubType: TubType = {
      id: "t",
      name: "T",
      widthMm: 600,
      depthMm: 400,
      heightMm: 200,
      innerWidthMm: 560,
      innerDepthMm: 360,
      maxDoughG: 40_000,
      massG: 1000,
    };
    const fridge: Fridge = { id: "f", name: "F", airTempC: 3, filmWPerM2K: 10, heatRemovalW: 1000, shelves: [] };
    const dough = {
      id: "d",
      name: "D",
      formula: [],
      absorptionPercent: 55,
      mixMinutes: 10,
      mixSkill: "mix",
      doughTempC: 25,
      chill: { toTempC: 10, withinMinutes: 360 },
    } as Dough;
    const massG = greatestTubMassG({ tubType, dough, fridge });
    expect(massG).toBeGreaterThan(5000);
    expect(massG).toBeLessThan(40_000);
    expect(tubMiddleC(dough, tubType, fridge, massG, 360)).toBeLessThanOrEqual(10.02);
    expect(tubMiddleC(dough, tubType, fridge, massG * 1.1, 360)).toBeGreaterThan(10.1);
    expect(greatestTubMassG({ tubType, dough, fridge: { ...fridge, airTempC: 11 } })).toBe(0);
    expect(blockCentre({ widthMm: 560, depthMm: 360, heightMm: 50 }, WHEAT_DOUGH, 10, 0)).toBe(1);
  });
});

describe("kettle", () => {
  /** Source: IAPWS-IF97 at the pressure of the standard atmosphere: boiling point by altitude, to 0.1 C. */
  it.each([
    [0, 99.97],
    [500, 98.31],
    [1000, 96.65],
    [1609, 94.62],
    [2000, 93.32],
  ])("water boils at %i m at %f C", (altitude, boils) => {
    expect(Math.abs(boilingTempC(altitude) - boils)).toBeLessThan(0.1);
  });

  const kettle: Kettle = {
    id: "k",
    name: "K",
    litres: 60,
    netHeatW: 12_000,
    piecesPerDip: [{ upToMm: 130, pieces: 24 }],
    handlingSeconds: 10,
  };
  const product = { pieceG: 113, shape: { form: "round", diameterMm: 110 } } as Product;
  const step: BoilStep = {
    does: "boil",
    secondsPerSide: 45,
    sides: 2,
    heads: 1,
    skill: "boil",
    waitAfter: { leastMinutes: 0, greatestMinutes: 4 },
  };

  /** Worked out from the heat balance: 24 pieces of 113 g, 10 -> 50 C, cp 2.7, at 12 kW recover in 24.4 s. */
  it("recovers as the heat balance says", () => {
    expect(boilCycleSeconds(kettle, step, product, {})).toBe(90 + 25);
    expect(boilCycleSeconds({ ...kettle, handlingSeconds: 40 }, step, product, {})).toBe(90 + 40);
    expect(boilCycleSeconds({ ...kettle, recoverySeconds: 60 }, step, product, {})).toBe(150);
  });

  /** Worked out from the heat balance: 60 kg from 15 to 98 C at 12 kW: 28.95 min; here to the boil at 600 m (98.0 C). */
  it("heats up as the heat balance says", () => {
    expect(heatUpMinutes(kettle, { altitudeM: 600 })).toBe(29);
    expect(heatUpMinutes({ ...kettle, heatUpMinutes: 40 }, {})).toBe(40);
  });

  it("boils in dips, the last one as small as need be", () => {
    expect(dips(kettle, step, product, {}, 53)).toEqual([
      { afterSeconds: 0, pieces: 24 },
      { afterSeconds: 115, pieces: 24 },
      { afterSeconds: 230, pieces: 5 },
    ]);
    expect(boilMinutes(kettle, step, product, {}, 53)).toBe(6);
    expect(boilMinutes(kettle, step, { ...product, shape: { form: "round", diameterMm: 200 } }, {}, 53)).toBeNull();
  });
});
