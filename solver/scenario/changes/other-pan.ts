import { CannotChange, changeKind, productName } from "../change.js";

export const otherPan = changeKind<"other-pan">({
  kind: "other-pan",
  apply: (day, { product: id, panType }) => {
    if (!day.catalogue.products.some((product) => product.id === id))
      throw new CannotChange(
        "unknown-product",
        "product",
        `Product "${id}" is not in the catalogue.`,
        "Name one of the catalogue's products.",
      );
    if (!day.network.panTypes.some((type) => type.id === panType))
      throw new CannotChange(
        "unknown-pan-type",
        "panType",
        `Pan type "${panType}" is not in the network.`,
        "Name one of the network's pan types.",
      );
    const products = day.catalogue.products.map((product) => {
      if (product.id !== id) return product;
      // A count that was given was for the pan it had.
      const { piecesPerPan: _, ...rest } = product;
      return { ...rest, panType };
    });
    return { ...day, catalogue: { ...day.catalogue, products: products as typeof day.catalogue.products } };
  },
  words: (day, { product, panType }) =>
    `${productName(day, product)} on ${day.network.panTypes.find(({ id }) => id === panType)?.name ?? panType}`,
});
