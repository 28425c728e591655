import { CannotChange, changeKind, choiceWords } from "../change.js";

export const onlyRoutes = changeKind<"only-routes">({
  kind: "only-routes",
  apply: (day, { products: ids, routes: wanted }) => {
    const known = new Set(day.catalogue.products.map((product) => product.id));
    const at = ids.findIndex((id) => !known.has(id));
    if (at >= 0)
      throw new CannotChange(
        "unknown-product",
        `products/${at}`,
        `Product "${ids[at]}" is not in the catalogue.`,
        "Name one of the catalogue's products.",
      );
    const products = day.catalogue.products.map((product) => {
      if (!ids.includes(product.id)) return product;
      const routes = product.routes.filter((route) => wanted.includes(route.id));
      return routes.length === 0 ? product : { ...product, routes: routes as typeof product.routes };
    });
    return { ...day, catalogue: { ...day.catalogue, products: products as typeof day.catalogue.products } };
  },
  words: (day, { products, routes }) => {
    const names = routes.map(
      (id) => day.catalogue.products.flatMap((product) => product.routes).find((route) => route.id === id)?.name ?? id,
    );
    return `${choiceWords(day, { products })} by ${names.join(" or ")} only`;
  },
});
