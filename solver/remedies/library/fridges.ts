import type { RemedyMaker } from "../candidate.js";

const SIZES = [20, 40];

/** A rented fridge, with a tub for each of its shelves. */
export const fridges: RemedyMaker = (want, { day, prices }) => {
  if (want.kind !== "fridge-positions" && want.kind !== "fridge-heat") return [];
  const site = day.network.sites.find(({ id }) => id === want.site);
  const like = [...(site?.fridges ?? [])].sort((a, b) => b.shelves.length - a.shelves.length)[0];
  if (!site || !like) return [];
  const tubType = site.tubs[0]?.tubType;
  return SIZES.map((shelves) => ({
    family: `fridge ${site.id}`,
    changes: [
      { kind: "rent-fridge", site: site.id, like: like.id, shelves },
      ...(tubType === undefined ? [] : [{ kind: "more-tubs" as const, site: site.id, tubType, count: shelves }]),
    ],
    cost: shelves * (prices.fridgeShelf + (tubType === undefined ? 0 : prices.tub)),
  }));
};
