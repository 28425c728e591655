import { CannotChange, changeKind, siteName, withSite } from "../change.js";

export const morePans = changeKind<"more-pans">({
  kind: "more-pans",
  apply: (day, { site: id, panType, count }) => {
    if (!day.network.panTypes.some((type) => type.id === panType))
      throw new CannotChange(
        "unknown-pan-type",
        "panType",
        `Pan type "${panType}" is not in the network.`,
        "Name one of the network's pan types.",
      );
    return withSite(day, id, (site) => {
      const has = site.pans.some((stock) => stock.panType === panType);
      const pans = has
        ? site.pans.map((stock) => (stock.panType === panType ? { ...stock, count: stock.count + count } : stock))
        : [...site.pans, { panType, count }];
      return { ...site, pans };
    });
  },
  words: (day, { site, panType, count }) => {
    const type = day.network.panTypes.find(({ id }) => id === panType);
    return `${count} more pans (${type?.name ?? panType}) at ${siteName(day, site)}`;
  },
});
