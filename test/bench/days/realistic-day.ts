import type { DayDocuments, Happening, Network } from "../../../schemas/index.js";
import { createRng, type Rng } from "../../../solver/rng.js";
import { benchCatalogue } from "./catalogue.js";
import { drawDemand, PANS_PER_LOAD } from "./demand.js";
import { benchNetwork, PAN_TYPES, type Places } from "./network.js";

const EVE = "2026-11-26";
const DATE = "2026-11-27";

/** A commissary for every 350 loads, a shop for every 55. */
function placesFor(rng: Rng, loads: number): Places {
  const commissaries = Array.from({ length: Math.max(1, Math.round(loads / 350)) }, (_, c) => `commissary-${c + 1}`);
  const shops = Array.from({ length: Math.max(1, Math.round(loads / 55)) }, (_, s) => {
    const home = s % commissaries.length;
    const isShared = commissaries.length > 1 && rng.below(3) === 0;
    return {
      id: `shop-${s + 1}`,
      commissary: commissaries[home]!,
      second: isShared ? commissaries[(home + 1) % commissaries.length]! : null,
    };
  });
  return { commissaries, shops };
}

/** On half of the days a deck is out for two hours; on a third a night hand is missing. */
function happeningsOf(rng: Rng, network: Network): Happening[] {
  const found: Happening[] = [];
  const site = network.sites[0]!;
  if (rng.below(2) === 0) {
    const oven = site.ovens[rng.below(site.ovens.length)]!;
    const deck = oven.decks[rng.below(oven.decks.length)]!;
    const unit = `${site.id}/${oven.id}/${deck.id}`;
    found.push({ kind: "out-of-service", unit, from: `${DATE}T04:30`, to: `${DATE}T06:30` });
  }
  if (rng.below(3) === 0) {
    const during = { from: `${DATE}T00:30`, to: `${DATE}T09:30` };
    found.push({ kind: "absent", site: site.id, crew: "night", heads: 1, ...during });
  }
  return found;
}

/**
 * A realistic whole day of about `loads` loads, by seed: invented doughs, products and customers, commissaries and shops as
 * many as the size asks for, stations counted from the work that is due by each round. Passes checkDay, and nearly everything can be on time.
 */
export function realisticDay(seed: number, loads: number): DayDocuments {
  const rng = createRng(seed * 7919 + loads);
  const catalogue =
    loads < 100 ? benchCatalogue(6, 2) : loads < 400 ? benchCatalogue(8, 3) : benchCatalogue(8, loads < 1000 ? 4 : 6);
  const places = placesFor(rng, loads);
  const sites = [
    ...places.commissaries.map((id) => ({ id, isShop: false, weight: Math.round(480 / places.commissaries.length) })),
    ...places.shops.map(({ id }) => ({ id, isShop: true, weight: Math.round(520 / places.shops.length) })),
  ];
  const { lines, wanted } = drawDemand(rng, loads, DATE, catalogue, PAN_TYPES, sites);
  const network = benchNetwork(rng, places, wanted, 0.62 + 0.1 * rng.unit());
  return {
    network,
    catalogue,
    orders: { format: "orders/1", lines: [...lines] },
    happenings: { format: "happenings/1", happenings: happeningsOf(rng, network) },
    settings: {
      format: "settings/1",
      name: `Bench day ${seed}, ${loads} loads`,
      window: { from: `${EVE}T12:00`, to: `${DATE}T14:00` },
      currency: "EUR",
      freshWithinMinutes: 480,
      maxPansPerLoad: PANS_PER_LOAD,
    },
  };
}
