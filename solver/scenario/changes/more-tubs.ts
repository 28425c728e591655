import { CannotChange, changeKind, siteName, withSite } from "../change.js";

export const moreTubs = changeKind<"more-tubs">({
  kind: "more-tubs",
  apply: (day, { site: id, tubType, count }) => {
    if (!day.network.tubTypes.some((type) => type.id === tubType))
      throw new CannotChange(
        "unknown-tub-type",
        "tubType",
        `Tub type "${tubType}" is not in the network.`,
        "Name one of the network's tub types.",
      );
    return withSite(day, id, (site) => {
      const has = site.tubs.some((stock) => stock.tubType === tubType);
      const tubs = has
        ? site.tubs.map((stock) => (stock.tubType === tubType ? { ...stock, count: stock.count + count } : stock))
        : [...site.tubs, { tubType, count }];
      return { ...site, tubs };
    });
  },
  words: (day, { site, tubType, count }) => {
    const type = day.network.tubTypes.find(({ id }) => id === tubType);
    return `${count} more tubs (${type?.name ?? tubType}) at ${siteName(day, site)}`;
  },
});
