import type { DayDocuments, Prices } from "../../schemas/index.js";

/** Placeholders for a first answer, in the day's currency: enter your own in the settings. */
export const DEFAULT_PRICES: Required<Prices> = {
  personHour: 20,
  fridgeShelf: 6,
  pan: 0.5,
  tub: 1,
  mixer: 150,
  bench: 30,
  proofer: 80,
  kettle: 120,
  deck: 140,
  rack: 20,
  earlierStart: 40,
  changedRoute: 0,
  changedDue: 0,
};

export function pricesOf(day: DayDocuments): Required<Prices> {
  return { ...DEFAULT_PRICES, ...day.settings.prices };
}
