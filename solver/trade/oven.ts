import type { Deck, Oven, Site } from "../../schemas/index.js";

/** Sums of a deck: heating up, changing, loading. Heat balances and a first-order approach; figures of decks are the user's. */

/** Minutes to heat stone and steel by riseK when preheatKw stay in them; losses are what preheatKw already lacks. */
export function heatUpByBalance(heatCapacityKjPerK: number, riseK: number, preheatKw: number): number {
  return Math.max(0, (heatCapacityKjPerK * riseK) / preheatKw / 60);
}

/** Minutes of a first-order approach until the gap to the setpoint is no more than a band. Down is slower than up: another tau. */
export function firstOrderMinutes(tauMinutes: number, gapK: number, bandK: number): number {
  return gapK <= bandK ? 0 : tauMinutes * Math.log(gapK / bandK);
}

/** Heat that a kilogram of dough takes from a deck, kJ: warming to the boil, and the water that bakes out (2257 kJ/kg). */
export function bakeHeatKjPerKg(cpKjPerKgK: number, riseK: number, lossShare: number): number {
  return cpKjPerKgK * riseK + lossShare * 2257;
}

/**
 * Preheat lead of a deck (D12), whole minutes: the user's measured coldStartMinutes, else from the heat balance, from the room (or whatever it
 * starts at) to the deck's greatest temperature.
 */
export function leadMinutes(deck: Deck, fromTempC: number): number {
  if (deck.coldStartMinutes !== undefined) return deck.coldStartMinutes;
  const { heatCapacityKjPerK, preheatKw } = deck;
  if (heatCapacityKjPerK === undefined || preheatKw === undefined)
    throw new RangeError(`deck ${deck.id} has no preheat lead; check the day first`);
  const minutes = heatUpByBalance(heatCapacityKjPerK, Math.max(0, deck.maxTempC - fromTempC), preheatKw);
  return Math.max(0, Math.ceil(minutes - 1e-9));
}

/** Lead of an oven with a shared thermostat: the greatest of its decks. */
export function ovenLeadMinutes(oven: Oven, site: Pick<Site, "roomTempC">): number {
  return Math.max(...oven.decks.map((deck) => leadMinutes(deck, site.roomTempC)));
}

/** Minutes from a warm deck to a setpoint: the share of the cold lead that the missing degrees are. */
export function reheatMinutes(
  leadFromColdMinutes: number,
  tempC: number,
  setpointC: number,
  roomTempC: number,
): number {
  if (tempC >= setpointC) return 0;
  return (leadFromColdMinutes * (setpointC - tempC)) / Math.max(1, setpointC - roomTempC);
}

export interface GapSaving {
  /** Off for so many minutes, then on again to be hot at the end of the gap. */
  readonly offMinutes: number;
  readonly savedKwh: number;
}

/**
 * Does it pay to switch a deck off through a gap? It cools as a first-order body (time constant from the cool-down rate at the setpoint), heats
 * again at its mean draw; null when it would not be hot in time or saves nothing.
 */
export function gapSaving({
  gapMinutes,
  setpointC,
  roomTempC,
  leadFromColdMinutes,
  coolDownCPerMinute,
  powerKw,
}: {
  gapMinutes: number;
  setpointC: number;
  roomTempC: number;
  leadFromColdMinutes: number;
  coolDownCPerMinute: number;
  powerKw: number;
}): GapSaving | null {
  const tau = (setpointC - roomTempC) / coolDownCPerMinute;
  let best: GapSaving | null = null;
  for (let off = 1; off < gapMinutes; off++) {
    const tempC = roomTempC + (setpointC - roomTempC) * Math.exp(-off / tau);
    const again = reheatMinutes(leadFromColdMinutes, tempC, setpointC, roomTempC);
    if (off + again > gapMinutes) break;
    best = { offMinutes: off, savedKwh: (off / 60) * powerKw };
  }
  return best;
}
