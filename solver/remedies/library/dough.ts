import { retardsIn } from "../../network/ways.js";
import { panLimit } from "../../verify/count.js";
import type { Candidate, RemedyMaker } from "../candidate.js";

const EARLIER_MINUTES = 240;

/** Retard in tubs instead of on pans; pans filled as far as they hold; work begun earlier on the day before. */
export const dough: RemedyMaker = (want, { day, prices }) => {
  const candidates: Candidate[] = [];
  if (want.kind === "fridge-positions" || want.kind === "pans") {
    const both = day.catalogue.products.filter(({ routes }) => {
      const kinds = new Set(routes.map(retardsIn));
      return kinds.has("tubs") && kinds.has("pans");
    });
    const routes = [
      ...new Set(
        both.flatMap((product) => product.routes.filter((route) => retardsIn(route) === "tubs").map(({ id }) => id)),
      ),
    ];
    if (both.length > 0)
      candidates.push({
        family: "tubs only",
        changes: [{ kind: "only-routes", products: both.map(({ id }) => id), routes }],
        cost: prices.changedRoute,
      });
  }
  if (want.kind === "fridge-positions" || want.kind === "deck-positions" || want.kind === "pans") {
    const emptier = day.catalogue.products.flatMap((product) => {
      const panType = day.network.panTypes.find(({ id }) => id === product.panType);
      if (!panType || product.piecesPerPan === undefined) return [];
      const { piecesPerPan, ...byGeometry } = product;
      const most = panLimit(byGeometry, panType);
      return most > piecesPerPan ? [{ kind: "pan-fill" as const, product: product.id, piecesPerPan: most }] : [];
    });
    if (emptier.length > 0) candidates.push({ family: "pan fill", changes: emptier.slice(0, 20), cost: 0 });
  }
  if (want.kind === "crew" || want.kind === "mixer" || want.kind === "bench")
    candidates.push({
      family: "start earlier",
      changes: [{ kind: "start-earlier", minutes: EARLIER_MINUTES }],
      cost: prices.earlierStart,
    });
  return candidates;
};
