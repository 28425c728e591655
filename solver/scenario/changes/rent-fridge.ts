import { CannotChange, changeKind, freshId, siteName, withSite } from "../change.js";

export const rentFridge = changeKind<"rent-fridge">({
  kind: "rent-fridge",
  apply: (day, { site: id, like, shelves }) =>
    withSite(day, id, (site) => {
      const model = site.fridges.find((fridge) => fridge.id === like);
      const first = model?.shelves[0];
      if (!model || !first)
        throw new CannotChange(
          "unknown-unit",
          "like",
          `Fridge "${like}" is not at ${site.name}.`,
          "Name one of the site's fridges.",
        );
      const rented = {
        ...model,
        id: freshId(like, site.fridges),
        name: `${model.name}, rented`,
        heatRemovalW: (model.heatRemovalW * shelves) / model.shelves.length,
        shelves: Array.from({ length: shelves }, (_, s) => ({
          ...first,
          id: `shelf-${s + 1}`,
        })) as typeof model.shelves,
      };
      return { ...site, fridges: [...site.fridges, rented] };
    }),
  words: (day, { site, like, shelves }) => {
    const fridge = day.network.sites.find(({ id }) => id === site)?.fridges.find(({ id }) => id === like);
    return `a rented fridge of ${shelves} shelves like those of the ${fridge?.name ?? like} at ${siteName(day, site)}`;
  },
});
