import type { Site } from "../schemas/index.js";

export type Station = Site["mixers" | "fridges" | "benches" | "proofers" | "kettles" | "ovens" | "racks"][number];

/** The stations of a site in the order in which dough meets them. */
export function stationsOf(site: Site): Station[] {
  return [
    ...site.mixers,
    ...site.fridges,
    ...site.benches,
    ...site.proofers,
    ...site.kettles,
    ...site.ovens,
    ...site.racks,
  ];
}
