import type { DayDocuments, LineChoice, Wish } from "../../../schemas/index.js";
import { linesAsTold } from "../../../solver/problem/told.js";
import { choiceWords, siteName } from "../../../solver/scenario/change.js";
import { type Asking, askable, type Choice } from "./asks.js";

/** What a planner may wish of the balance. */
export function wishings(day: DayDocuments): Asking<Wish>[] {
  const { network, catalogue } = day;
  const sites = network.sites.map((site): Choice => ({ value: site.id, text: site.name }));
  const products = catalogue.products.map((one): Choice => ({ value: one.id, text: one.name }));
  const customers = [...new Set(linesAsTold(day).flatMap(({ customer }) => customer ?? []))].sort();
  const site = { key: "site", label: "Site", is: "choice", choices: sites } as const;
  return askable<Wish>([
    {
      id: "product",
      text: "a product baked at a site",
      asks: [
        { key: "product", label: "Product", is: "choice", choices: products },
        { ...site, label: "Baked at" },
      ],
      make: (values) => ({ kind: "bake-at", of: { products: [values.product!] } as LineChoice, site: values.site! }),
    },
    {
      id: "customer",
      text: "a customer's orders baked at a site",
      asks: [
        {
          key: "customer",
          label: "Customer",
          is: "choice",
          choices: customers.map((one) => ({ value: one, text: one })),
        },
        { ...site, label: "Baked at" },
      ],
      make: (values) => ({ kind: "bake-at", of: { customers: [values.customer!] } as LineChoice, site: values.site! }),
    },
    {
      id: "for",
      text: "a site's orders baked at a site",
      asks: [
        { key: "for", label: "For", is: "choice", choices: sites },
        { ...site, label: "Baked at" },
      ],
      make: (values) => ({ kind: "bake-at", of: { sites: [values.for!] } as LineChoice, site: values.site! }),
    },
    {
      id: "share",
      text: "a site's share between limits",
      asks: [
        site,
        { key: "least", label: "Bakes at least, % of all pieces", is: "number", first: 20, min: 0, max: 100 },
        { key: "most", label: "and at most", is: "number", first: 40, min: 0, max: 100 },
      ],
      make: ({ site: id, least, most }) => {
        const [low, high] = [Number(least), Number(most)].sort((a, b) => a - b) as [number, number];
        return { kind: "share", site: id!, leastPercent: low, mostPercent: high };
      },
    },
    {
      id: "home",
      text: "rather not ride",
      asks: [
        { key: "worth", label: "A piece that does not ride is worth", is: "number", first: 0.05, min: 0, max: 1000 },
      ],
      make: ({ worth }) => ({ kind: "home", perPiece: Number(worth) }),
    },
  ]);
}

export function wishText(day: DayDocuments, wish: Wish): string {
  if (wish.kind === "bake-at") return `${choiceWords(day, wish.of)} baked at ${siteName(day, wish.site)}`;
  if (wish.kind === "share")
    return `${siteName(day, wish.site)} bakes ${wish.leastPercent} to ${wish.mostPercent} % of all pieces`;
  return `nothing rides that need not: ${wish.perPiece.toFixed(2)} a piece`;
}
