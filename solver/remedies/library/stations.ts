import type { Prices, Site } from "../../../schemas/index.js";
import type { RemedyMaker, Want } from "../candidate.js";

/** The unit to have one more of: the largest of those that are wanting. */
function unitLike(site: Site, want: Want): { readonly like: string; readonly price: keyof Prices } | null {
  const ids = want.of.split(" ");
  if (want.kind === "deck-positions") {
    const decks = site.ovens.flatMap((oven) =>
      oven.decks.map((deck) => ({ id: `${oven.id}/${deck.id}`, area: deck.widthMm * deck.depthMm })),
    );
    const [best] = decks.filter(({ id }) => ids.includes(id)).sort((a, b) => b.area - a.area);
    return best ? { like: `${site.id}/${best.id}`, price: "deck" } : null;
  }
  const pick = <T extends { readonly id: string }>(
    list: readonly T[],
    size: (unit: T) => number,
    price: keyof Prices,
  ) => {
    const [best] = list.filter(({ id }) => ids.includes(id)).sort((a, b) => size(b) - size(a));
    return best ? { like: `${site.id}/${best.id}`, price } : null;
  };
  if (want.kind === "kettle") return pick(site.kettles, ({ netHeatW }) => netHeatW, "kettle");
  if (want.kind === "mixer")
    return pick(site.mixers, ({ limits }) => Math.max(...limits.map((row) => row.maxDoughG)), "mixer");
  if (want.kind === "bench") return pick(site.benches, ({ places }) => places, "bench");
  if (want.kind === "proofer-positions") return pick(site.proofers, ({ positions }) => positions, "proofer");
  if (want.kind === "rack-positions") return pick(site.racks, ({ positions }) => positions, "rack");
  return null;
}

/** One more deck (or its whole oven), kettle, mixer, bench, proofer or rack. */
export const stations: RemedyMaker = (want, { day, prices }) => {
  const site = day.network.sites.find(({ id }) => id === want.site);
  const found = site && unitLike(site, want);
  if (!found) return [];
  const one = {
    family: `unit ${found.like}`,
    changes: [{ kind: "another-unit" as const, like: found.like }],
    cost: prices[found.price],
  };
  if (want.kind !== "deck-positions") return [one];
  const oven = site.ovens.find(({ id }) => found.like.startsWith(`${site.id}/${id}/`))!;
  if (oven.decks.length < 2) return [one];
  const whole = {
    family: `unit ${site.id}/${oven.id}`,
    changes: [{ kind: "another-unit" as const, like: `${site.id}/${oven.id}` }],
    cost: prices.deck * oven.decks.length,
  };
  return [one, whole];
};
