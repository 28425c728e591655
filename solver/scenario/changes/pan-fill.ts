import type { Product } from "../../../schemas/index.js";
import { panLimit } from "../../verify/count.js";
import { CannotChange, changeKind, productName } from "../change.js";

export const panFill = changeKind<"pan-fill">({
  kind: "pan-fill",
  apply: (day, { product: id, piecesPerPan }) => {
    const product = day.catalogue.products.find((candidate) => candidate.id === id);
    if (!product)
      throw new CannotChange(
        "unknown-product",
        "product",
        `Product "${id}" is not in the catalogue.`,
        "Name one of the catalogue's products.",
      );
    const panType = day.network.panTypes.find((type) => type.id === product.panType);
    const { piecesPerPan: _, ...byGeometry } = product;
    const most = panType ? panLimit(byGeometry as Product, panType) : piecesPerPan;
    if (piecesPerPan > most)
      throw new CannotChange(
        "out-of-range",
        "piecesPerPan",
        `${piecesPerPan} ${product.name} do not fit on a ${panType?.name ?? "pan"}: at most ${most} do.`,
        "Give a number within what the pan holds.",
      );
    const products = day.catalogue.products.map((own) => (own.id === id ? { ...own, piecesPerPan } : own));
    return { ...day, catalogue: { ...day.catalogue, products: products as typeof day.catalogue.products } };
  },
  words: (day, { product, piecesPerPan }) => `${piecesPerPan} ${productName(day, product)} to a pan`,
});
