import type { RemedyMaker } from "../candidate.js";

const SIZES = [20, 50];

/** More pans, more tubs. */
export const stocks: RemedyMaker = (want, { prices }) => {
  if (want.kind === "pans")
    return SIZES.map((count) => ({
      family: `pans ${want.site} ${want.of}`,
      changes: [{ kind: "more-pans", site: want.site, panType: want.of, count }],
      cost: count * prices.pan,
    }));
  if (want.kind === "tubs")
    return SIZES.map((count) => ({
      family: `tubs ${want.site} ${want.of}`,
      changes: [{ kind: "more-tubs", site: want.site, tubType: want.of, count }],
      cost: count * prices.tub,
    }));
  return [];
};
