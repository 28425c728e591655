import type { Deck, Dough, Oven, Site } from "../../schemas/index.js";

/** The verifier's own thermal sums: properties of a dough and preheat leads of decks. */

export interface Properties {
  readonly densityKgPerM3: number;
  readonly cpKjPerKgK: number;
  readonly conductivityWPerMK: number;
}

/** Choi and Okos at 15 C, worked out beforehand: cp kJ/(kg K), k W/(m K), density kg/m3. */
const AT_15_C = {
  water: [4.1287685, 0.5960192, 996.3817435],
  protein: [2.0260381, 0.1961355, 1322.124],
  fat: [2.0052193, 0.1765295, 919.32645],
  carbohydrate: [1.576901, 0.2212465, 1594.4431],
  ash: [1.1201156, 0.3499824, 2419.59055],
} as const;

const propertiesKnown = new WeakMap<object, Properties>();

/** Measured values, else from the composition, else wheat dough. */
export function propertiesOf(dough: Pick<Dough, "thermal" | "composition">): Properties {
  const properties = propertiesKnown.get(dough) ?? workOutProperties(dough);
  propertiesKnown.set(dough, properties);
  return properties;
}

function workOutProperties(dough: Pick<Dough, "thermal" | "composition">): Properties {
  if (dough.thermal) return dough.thermal;
  const { composition } = dough;
  if (!composition) return { densityKgPerM3: 1150, cpKjPerKgK: 2.7, conductivityWPerMK: 0.4 };
  const parts = Object.entries(AT_15_C).map(([part, [cp, k, density]]) => {
    const share = composition[part as keyof typeof AT_15_C];
    return { heat: share * cp, volume: share / density, k };
  });
  const volume = parts.reduce((sum, part) => sum + part.volume, 0);
  return {
    densityKgPerM3: 1 / volume,
    cpKjPerKgK: parts.reduce((sum, part) => sum + part.heat, 0),
    conductivityWPerMK: parts.reduce((sum, part) => sum + part.k * part.volume, 0) / volume,
  };
}

/** Minutes from cold to hot: measured, else heat capacity x rise to the greatest temperature / heat that stays, rounded up. */
export function deckLead(deck: Deck, site: Site): number {
  if (deck.coldStartMinutes !== undefined) return deck.coldStartMinutes;
  const rise = Math.max(0, deck.maxTempC - site.roomTempC);
  return Math.ceil(((deck.heatCapacityKjPerK ?? 0) * rise) / ((deck.preheatKw ?? 1) * 60) - 1e-9);
}

export function heaterLead(oven: Oven, deck: Deck, site: Site): number {
  return oven.sharedThermostat ? Math.max(...oven.decks.map((each) => deckLead(each, site))) : deckLead(deck, site);
}
