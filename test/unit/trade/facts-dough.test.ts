import { describe, expect, it } from "vitest";
import { ALLERGEN_LISTS } from "../../../solver/trade/allergen-lists.js";
import { needsClean } from "../../../solver/trade/dough.js";
import { COOKED_COOLING, insideCookedCooling, lumpedHours, PUBLISHED_LIMITS } from "../../../solver/trade/food-code.js";
import { liftingIndex, weightLimitKg } from "../../../solver/trade/lifting.js";
import { cToF, fDifferenceToC, fToC, G_PER_LB, lbToG } from "../../../solver/trade/units.js";
import {
  frictionFactorOf,
  heatToReach,
  iceInWater,
  liquidTempByHeat,
  planWater,
  riseOfFactor,
  waterTempByFactor,
} from "../../../solver/trade/water.js";
import { bakersPercents, doughForBakedG, flourInDoughG, wholeBatches } from "../../../solver/trade/yield.js";

/** Check values of the trade. Beside each its source; [calc] means worked out from the formula named, [memory] not read again. */

describe("baker's percent and yield", () => {
  /** Source: en.m.wikibooks.org, Cookbook: Bagel (worked formula). */
  it("percents of a worked formula", () => {
    const [yeast, water, sugar, salt] = bakersPercents(530, [14, 351.53, 50, 20]);
    expect(yeast).toBeCloseTo(2.64, 2);
    expect(water).toBeCloseTo(66.33, 2);
    expect(sugar).toBeCloseTo(7.55 + 1.89, 1);
    expect(salt).toBeCloseTo(3.77, 2);
    expect((100 * 965.53) / 530).toBeCloseTo(182.18, 2);
  });

  /** Source: manuals of mixer makers (addresses withheld): two formulas with their sums. */
  it.each([
    [[100, 55, 2, 2.5, 5, 5, 6], 175.5],
    [[100, 65, 5, 2.5, 15, 15, 8], 210.5],
  ])("formula %j adds up to %f %%", (percents, total) => {
    const formula = percents.map((bakersPercent, i) => ({ ingredient: `i${i}`, bakersPercent }));
    expect(formula.reduce((sum, line) => sum + line.bakersPercent, 0)).toBeCloseTo(total, 9);
    expect(flourInDoughG({ formula }, total * 10)).toBeCloseTo(1000, 9);
  });

  /** [calc] from dough = N x baked / ((1 - loss)(1 - scrap)). */
  it("300 pieces of 105 g baked, 11 % loss, 2 % scrap, flour at 160.5 %", () => {
    const doughG = doughForBakedG(300, 105, 0.11, 0.02);
    expect(doughG / 1000).toBeCloseTo(36.116, 3);
    expect(
      flourInDoughG(
        {
          formula: [
            { ingredient: "f", bakersPercent: 100 },
            { ingredient: "r", bakersPercent: 60.5 },
          ],
        },
        doughG,
      ) / 1000,
    ).toBeCloseTo(22.502, 3);
  });

  /** Losses: Gisslen, Professional Baking, 10-13 % (as served by ckbk.com). 100 g baked needs [calc]: */
  it.each([
    [0.1, 111.11],
    [0.13, 114.94],
  ])("100 g baked at a loss of %f needs %f g", (loss, doughG) => {
    expect(doughForBakedG(1, 100, loss, 0)).toBeCloseTo(doughG, 2);
  });

  /** Sources: [calc] six rings a pound of flour at 160 % and 120 g; Roanoke Times 1994: 150 lb of dough make about 60 dozen. */
  it("rings from flour and from dough", () => {
    expect((G_PER_LB * 1.6) / 120).toBeCloseTo(6.05, 2);
    expect(lbToG(150) / 720).toBeCloseTo(94.5, 1);
  });

  it("whole batches are equal, as few as the bowl allows, and none is below the least", () => {
    expect(wholeBatches(100_000, 4000, 45_000)).toEqual({ count: 3, massG: 100_000 / 3 });
    expect(wholeBatches(90_000, 4000, 45_000).count).toBe(2);
    expect(wholeBatches(1000, 4000, 45_000)).toEqual({ count: 1, massG: 4000 });
  });
});

describe("water temperature by the factor method", () => {
  it.each([
    // farine-mc.blogspot.com: dough 75 F, flour 65, room 65, friction 8.
    ["F", 75, [65, 65], 8, 87],
    // theperfectloaf.com: four factors with a pre-ferment, no friction.
    ["F", 78, [72, 75, 75], 0, 90],
    // pizzamaking.com, topic 14506.
    ["F", 78, [60, 70], 16, 88],
    // [calc]
    ["C", 24, [20, 22], 6, 24],
  ] as const)("%s: dough %f with %j and %f: %f", (_scale, doughTemp, others, frictionFactor, water) => {
    expect(waterTempByFactor({ doughTemp, others, frictionFactor })).toBeCloseTo(water, 9);
  });

  /** Source: as above, turned round [calc]. */
  it.each([
    [78, [70, 68], 60, 36],
    [26, [21, 20], 24, 13],
  ] as const)("friction factor of a dough at %f with %j and water %f: %f", (doughTemp, others, water, factor) => {
    expect(frictionFactorOf({ doughTemp, others, water })).toBeCloseTo(factor, 9);
  });

  it("says the same in C and F when the factor is converted as a difference", () => {
    const f = waterTempByFactor({ doughTemp: 78, others: [60, 70], frictionFactor: 16 });
    const c = waterTempByFactor({
      doughTemp: fToC(78),
      others: [fToC(60), fToC(70)],
      frictionFactor: fDifferenceToC(16),
    });
    expect(cToF(c)).toBeCloseTo(f, 9);
  });
});

describe("water temperature by the heat balance", () => {
  /** [calc] 10 kg of flour (1.8 kJ/(kg K)) and 5.7 kg of water (4.186). */
  it.each([
    [24, 26, 6, 11.96],
    [26, 20, 4, 23.51],
    [25, 20, 5, 20],
  ])("dough %f, flour %f, rise %f: %f", (doughTempC, dryTempC, riseC, water) => {
    const parts = [{ massKg: 10, cpKjPerKgK: 1.8, tempC: dryTempC }];
    expect(liquidTempByHeat({ doughTempC, riseC, parts, liquidKg: 5.7 })).toBeCloseTo(water, 2);
  });

  /** [common practice] 95 F water on 20 C flour at 57 % gives 28.55 C before friction [calc]: above the 25-28 C wanted for a retarded mass. */
  it("95 F water is too warm for a big retarded mass", () => {
    const mixedC = (10 * 1.8 * 20 + 5.7 * 4.186 * fToC(95)) / (10 * 1.8 + 5.7 * 4.186);
    expect(mixedC).toBeCloseTo(28.55, 2);
    const parts = [{ massKg: 10, cpKjPerKgK: 1.8, tempC: 20 }];
    expect(liquidTempByHeat({ doughTempC: mixedC, riseC: 0, parts, liquidKg: 5.7 })).toBeCloseTo(35, 6);
  });

  /**
   * Source: Cengel and Boles, Thermodynamics, 8th edition, problem 5-157: 2 kg of flour (1.76) and 1 kg of water (4.18) at 15 C give off 15 kJ a kg of dough
   * on hydration; to how many degrees must the water be cooled to take it all up? Its answer, 4.2 C, from memory; [calc] 15 - 3 x 15 / 4.18 = 4.23.
   */
  it("water that takes up the heat of hydration", () => {
    const heatKj = 3 * 15;
    const found = liquidTempByHeat({
      doughTempC: 15,
      riseC: heatKj / (2 * 1.76 + 1 * 4.18),
      parts: [{ massKg: 2, cpKjPerKgK: 1.76, tempC: 15 }],
      liquidKg: 1,
      liquidCpKjPerKgK: 4.18,
    });
    expect(found).toBeCloseTo(4.23, 2);
  });

  /** [calc] by hand: 10 kg of flour at 20 C takes 108 kJ to 26 C, 1 kg of butter (2.3) at 4 C takes 50.6; a rise of 4 K gives 4 x 41.23. */
  it("cold butter takes warmer water", () => {
    const flour = { massKg: 10, cpKjPerKgK: 1.8, tempC: 20 };
    const butter = { massKg: 1, cpKjPerKgK: 2.3, tempC: 4 };
    const liquid = (parts: readonly (typeof flour)[]) =>
      liquidTempByHeat({ doughTempC: 26, riseC: 4, parts, liquidKg: 5 });
    expect(liquid([flour])).toBeCloseTo(26 + (108 - 4 * 38.93) / 20.93, 6);
    expect(liquid([flour, butter])).toBeCloseTo(26 + (108 + 50.6 - 4 * 41.23) / 20.93, 6);
    expect(liquid([flour, butter]) - liquid([flour])).toBeCloseTo(1.98, 2);
  });

  /** Source: Earle, Unit Operations in Food Processing, appendix 7 (nzifst.org.nz): apples, 84 % water, 3.60 and 1.88 kJ/(kg K), heat of melting 280 kJ/kg. */
  it("frozen fruit takes what melts it", () => {
    const apples = { massKg: 1, cpKjPerKgK: 3.6, tempC: -18, waterShare: 0.84 };
    const table = 1.88 * 18 + 280 + 3.6 * 25;
    expect(Math.abs(heatToReach(apples, 25) / table - 1)).toBeLessThan(0.01);
    // Most of it is the melting: as if it were only cold, it would be a third.
    expect(heatToReach({ ...apples, waterShare: 0 }, 25)).toBeCloseTo(3.6 * 43, 9);
    // Thawed, nothing melts.
    expect(heatToReach({ ...apples, tempC: 4 }, 25)).toBeCloseTo(3.6 * 21, 9);
  });

  /** [calc] Flour, room and liquid equally warm: 3 x dough - 2 x 20 - factor = 20 where the dough is a third of the factor warmer. */
  it("a third of a factor is a rise", () => {
    const factor = 12;
    const doughTemp = 20 + riseOfFactor(factor);
    expect(waterTempByFactor({ doughTemp, others: [20, 20], frictionFactor: factor })).toBeCloseTo(20, 9);
    const parts = [{ massKg: 10, cpKjPerKgK: 1.8, tempC: 20 }];
    expect(liquidTempByHeat({ doughTempC: doughTemp, riseC: riseOfFactor(factor), parts, liquidKg: 6 })).toBeCloseTo(
      20,
      9,
    );
  });
});

describe("ice in place of water", () => {
  /** [calc] L = 334 kJ/kg: the total stays; 40 kg from 20 to 10 C takes 4.008 kg (an article that adds ice on top says 4.4: another question). */
  it.each([
    [40, 20, 10, 4.008],
    [10, 20, 5, 1.503],
    [25, 18, 4, 3.579],
  ])("%f kg from %f to %f C: %f kg", (water, tap, wanted, ice) => {
    expect(iceInWater(water, tap, wanted)).toBeCloseTo(ice, 3);
  });

  /** Source: a trade table per lb of water (address withheld), which agrees with the sum to 1.5 %. */
  it.each([
    [70, 40, 0.163],
    [60, 40, 0.115],
    [80, 40, 0.206],
  ])("a pound from %f to %f F: %f lb", (tap, wanted, ice) => {
    expect(Math.abs(iceInWater(1, fToC(tap), fToC(wanted)) / ice - 1)).toBeLessThan(0.015);
  });

  /** The same table's rows for water "at 0 F" are from before it melts: colder than water can be, so the tool caps and says so. */
  it("never more ice than water, and says when water cannot be so cold", () => {
    expect(planWater(10, 20, -90, true)).toMatchObject({ iceG: 10, waterG: 0, state: "all-ice" });
    expect(planWater(10, 20, -3, true).state).toBe("all-ice");
    expect(planWater(10, 20, -3, false)).toMatchObject({ iceG: 0, state: "too-cold" });
    expect(planWater(10, 20, 70, true).state).toBe("too-hot");
    expect(planWater(10, 20, 30, true)).toMatchObject({ iceG: 0, state: "ok" });
    const plan = planWater(10_000, 20, 5, true);
    expect(plan.state).toBe("iced");
    expect(plan.waterG + plan.iceG).toBeCloseTo(10_000, 9);
  });

  it("what is weighed has the wanted heat", () => {
    const { waterG, iceG } = planWater(1000, 18, 4, true);
    const heat = waterG * 4.186 * 18 - iceG * 334;
    expect(heat).toBeCloseTo(1000 * 4.186 * 4, 6);
  });
});

describe("lifting", () => {
  /** Source: NIOSH 94-110 (what-when-how.com; ccohs.ca); the twist, grip and frequency factors [memory]; loads of 25 kg [calc]. */
  it.each([
    [25, 75, 25, 0, 1, "good", 23.0, 1.09],
    [40, 30, 70, 0, 1, "fair", 10.45, 2.39],
    [40, 15, 75, 30, 0.88, "fair", 7.84, 3.19],
    [50, 140, 60, 0, 0.94, "good", 7.79, 3.21],
  ] as const)("H %f V %f D %f A %f", (h, v, d, a, frequencyFactor, grip, limit, index) => {
    const limitKg = weightLimitKg({
      horizontalCm: h,
      verticalCm: v,
      travelCm: d,
      twistDegrees: a,
      frequencyFactor,
      grip,
    });
    expect(limitKg).toBeCloseTo(limit, 2);
    expect(liftingIndex(25, limitKg)).toBeCloseTo(index, 2);
  });

  it("is nothing beyond the reach of the equation", () => {
    expect(weightLimitKg({ horizontalCm: 64 })).toBe(0);
    expect(weightLimitKg({ verticalCm: 176 })).toBe(0);
    expect(liftingIndex(1, 0)).toBe(Number.POSITIVE_INFINITY);
  });
});

describe("allergens", () => {
  /** Sources: fda.gov, FASTER Act (sesame the ninth); Regulation (EU) 1169/2011 Annex II (reproductions). */
  it("nine of the US, fourteen of the EU, and wheat is not gluten cereals", () => {
    const [us, eu] = ALLERGEN_LISTS;
    expect(us!.entries.length).toBe(9);
    expect(eu!.entries.length).toBe(14);
    expect(us!.entries.map(({ name }) => name)).toContain("sesame");
    expect(us!.entries.map(({ name }) => name)).toContain("wheat");
    expect(eu!.entries.map(({ name }) => name)).toContain("cereals containing gluten");
    expect(new Set(ALLERGEN_LISTS.flatMap(({ entries }) => entries.map(({ code }) => code))).size).toBe(23);
    for (const { source } of ALLERGEN_LISTS) expect(source).toMatch(/\d{4}/);
  });

  /** [common practice] Fewest to most allergens needs no clean; any lost allergen does. */
  it("a growing sequence needs no clean", () => {
    const a = new Set(["wheat"]);
    const b = new Set(["wheat", "milk"]);
    expect([needsClean(a, b), needsClean(b, a)]).toEqual([false, true]);
  });
});

describe("food code figures", () => {
  /** Source: Delaware Admin. Code 3-501.14 (casetext.com): 57 to 21 C within 2 h and to 5 C within 6 h together. */
  it("two-stage cooling of cooked food", () => {
    expect(COOKED_COOLING).toMatchObject({ fromC: 57, middleC: 21, toC: 5 });
    expect(insideCookedCooling(120, 360)).toBe(true);
    expect(insideCookedCooling(121, 360)).toBe(false);
    expect(insideCookedCooling(60, 360)).toBe(true);
    expect(insideCookedCooling(60, 361)).toBe(false);
  });

  /** [calc] lumped cooling from 57 C: the greatest time constant that passes both stages. */
  it.each([
    [3, 1.8205, 1.8205],
    [4, 1.7589, 1.5112],
  ])("air at %f C: tau at most %f h for the first stage, %f h for all", (airC, first, all) => {
    expect(2 / lumpedHours(1, 57, 21, airC)).toBeCloseTo(first, 3);
    expect(6 / lumpedHours(1, 57, 5, airC)).toBeCloseTo(all, 3);
  });

  /** Sources: WAC 246-215-03525 (3-501.16); Wyoming ch. 3 s. 62 (3-501.19); SI 2013/2996 Sch. 4; Regulation 852/2004 Annex II ch. IX(5). */
  it("published limits carry jurisdiction and source, and no figure where the law has none", () => {
    const by = new Map(PUBLISHED_LIMITS.map((limit) => [limit.id, limit]));
    expect(by.get("us-cold-holding")!.coldAtMostC).toBe(5);
    expect(by.get("us-time-4h")!.warmMinutes).toBe(240);
    expect(by.get("us-time-6h")!.warmMinutes).toBe(360);
    expect(by.get("england-chill")!.coldAtMostC).toBe(8);
    expect(by.get("eu-cold-chain")!.coldAtMostC).toBeUndefined();
    for (const limit of PUBLISHED_LIMITS) {
      expect(limit.jurisdiction).toMatch(/\w/);
      expect(limit.source).toMatch(/\w/);
    }
  });
});
