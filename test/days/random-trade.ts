import type { DayDocuments, Dough, Limit, Site, Step } from "../../schemas/index.js";
import { createRng, type Rng } from "../../solver/rng.js";

/**
 * What the trade's sums bind, put on a random day by a seed of its own, so that the rest of the day stays what its seed made it: fermentation limits,
 * limits of the settings, typical proofs, compositions, preheats from a heat balance.
 */
export function withTradeFeatures(day: DayDocuments, seed: number): DayDocuments {
  const rng = createRng(seed ^ 0x5eed);
  const chance = (percent: number): boolean => rng.below(100) < percent;
  if (chance(40)) return day;
  const limits: Limit[] = [
    {
      id: "limit-1",
      jurisdiction: "Random food code",
      source: "section 1",
      ...(chance(50) ? { coldAtMostC: 3 + rng.below(3) } : {}),
      ...(chance(50) ? { warmMinutes: 90 + rng.below(200) } : {}),
      ...(chance(50) ? { outOfColdMinutes: 10 + rng.below(80) } : {}),
    },
  ];
  return {
    ...day,
    settings: { ...day.settings, limits },
    catalogue: {
      ...day.catalogue,
      doughs: day.catalogue.doughs.map((dough) => doughOf(dough, rng)),
      products: day.catalogue.products.map((product) => ({
        ...product,
        routes: product.routes.map((route) => ({ ...route, steps: route.steps.map((step) => stepOf(step, rng)) })),
      })),
    },
    network: { ...day.network, sites: day.network.sites.map((site) => siteOf(site, rng)) },
  };
}

function doughOf(dough: Dough, rng: Rng): Dough {
  const chance = (percent: number): boolean => rng.below(100) < percent;
  const model = chance(50) ? "q10" : "growth";
  return {
    ...dough,
    ...(chance(50)
      ? {
          ferment: {
            greatestHours: (model === "q10" ? 25 : 8) / 10 + rng.below(60) / 10,
            atTempC: 22 + rng.below(6),
            model,
            ...(model === "q10" && chance(50) ? { q10: 1.5 + rng.below(15) / 10 } : {}),
            ...(chance(50) ? { forMinutes: 240 + rng.below(600) } : {}),
          } as const,
        }
      : {}),
    ...(chance(50) ? { limit: "limit-1" } : {}),
    ...(chance(30) ? { composition: { water: 0.42, protein: 0.08, fat: 0.03, carbohydrate: 0.455, ash: 0.015 } } : {}),
  };
}

function stepOf(step: Step, rng: Rng): Step {
  if (step.does !== "proof" || rng.below(100) < 40) return step;
  const window = step.greatestMinutes - step.leastMinutes;
  return {
    ...step,
    typicalMinutes: Math.max(1, step.leastMinutes - 10 + rng.below(window + 20)),
    atTempC: 26 + rng.below(8),
    ...(rng.below(2) === 0 ? { q10: 1.5 + rng.below(15) / 10 } : {}),
  };
}

function siteOf(site: Site, rng: Rng): Site {
  return {
    ...site,
    roomTempC: 16 + rng.below(10),
    ovens: site.ovens.map((oven) => ({
      ...oven,
      decks: oven.decks.map((deck) => {
        if (rng.below(100) < 70) return deck;
        const { coldStartMinutes: _measured, ...rest } = deck;
        return { ...rest, heatCapacityKjPerK: 40 + rng.below(80), preheatKw: 4 + rng.below(6) };
      }),
    })),
  };
}
