import type { DayDocuments, Dough, Product } from "../../schemas/index.js";
import { panItemHeightMm, positionsOnDeck } from "../geometry/index.js";
import { mixerLimitG } from "../trade/dough.js";
import type { Check } from "./context.js";
import { atEachSite, siteBySiteText } from "./site-by-site.js";

function checkEverywhere(
  day: DayDocuments,
  product: Product,
  dough: Dough,
  p: number,
  add: (
    code: "too-hot-for-decks" | "pan-fits-no-deck" | "too-stiff-for-mixers",
    document: "catalogue",
    pointer: string,
    message: string,
    fix: string,
  ) => void,
): void {
  const decks = day.network.sites.flatMap((site) => site.ovens.flatMap((oven) => oven.decks));
  const panType = day.network.panTypes.find((type) => type.id === product.panType);
  product.routes.forEach((route, r) => {
    route.steps.forEach((step, s) => {
      if (step.does !== "bake") return;
      const hot = decks.filter((deck) => deck.maxTempC >= step.tempC);
      const hottest = Math.max(0, ...decks.map((deck) => deck.maxTempC));
      if (hot.length === 0)
        add(
          "too-hot-for-decks",
          "catalogue",
          `/products/${p}/routes/${r}/steps/${s}/tempC`,
          `${product.name} bakes at ${step.tempC} C, the hottest deck reaches ${hottest} C.`,
          "Lower the temperature or correct a deck's maxTempC.",
        );
      else if (
        panType &&
        !hot.some((deck) => positionsOnDeck(deck, panType, panItemHeightMm(product, panType)).count > 0)
      )
        add(
          "pan-fits-no-deck",
          "catalogue",
          `/products/${p}/panType`,
          `No deck that reaches ${step.tempC} C takes ${panType.name} with ${product.name} on it.`,
          "Check widths, depths and clear heights, which are in mm.",
        );
    });
  });
  const mixers = day.network.sites.flatMap((site) => site.mixers);
  if (!mixers.some((mixer) => mixerLimitG(mixer, dough.absorptionPercent) !== null)) {
    const d = day.catalogue.doughs.indexOf(dough);
    add(
      "too-stiff-for-mixers",
      "catalogue",
      `/doughs/${d}/absorptionPercent`,
      `No mixer takes ${dough.name} of ${dough.absorptionPercent} % absorption.`,
      "Add a row from a lower absorption to a mixer's limits.",
    );
  }
}

/** Every ordered product can be made for its site by some route, site and van run. */
export const checkMakeable: Check = (day, findings) => {
  const doughs = new Map(day.catalogue.doughs.map((dough) => [dough.id, dough]));
  const sites = new Map(day.network.sites.map((site) => [site.id, site]));
  const ordered = new Set(day.orders.lines.map((line) => line.product));
  const stiff = new Set<string>();
  day.catalogue.products.forEach((product, p) => {
    const dough = doughs.get(product.dough);
    if (!dough || !ordered.has(product.id)) return;
    checkEverywhere(day, product, dough, p, (code, document, pointer, message, fix) => {
      if (code === "too-stiff-for-mixers" && stiff.has(dough.id)) return;
      if (code === "too-stiff-for-mixers") stiff.add(dough.id);
      findings.add(code, document, pointer, message, fix);
    });
  });
  const known = new Set<string>();
  day.orders.lines.forEach((line, i) => {
    const product = day.catalogue.products.find((candidate) => candidate.id === line.product);
    const dough = product ? doughs.get(product.dough) : undefined;
    if (!product || !dough || !sites.has(line.site) || (line.madeAt !== undefined && !sites.has(line.madeAt))) return;
    const key = `${line.product} ${line.site} ${line.madeAt ?? ""}`;
    if (known.has(key)) return;
    known.add(key);
    const found = atEachSite(day, product, dough, line.site, line.madeAt);
    if (found.some(({ lacks }) => lacks.length === 0)) return;
    const text = siteBySiteText(found);
    const name = (id: string): string => sites.get(id)!.name;
    if (line.madeAt !== undefined)
      findings.add(
        "made-at-cannot",
        "orders",
        `/lines/${i}/madeAt`,
        `${name(line.madeAt)} cannot make ${product.name} for ${name(line.site)}. ${text}`,
        "Fix it to another site, or add what is lacking.",
      );
    else
      findings.add(
        "no-site-can-make",
        "orders",
        `/lines/${i}/product`,
        `Nobody can make ${product.name} for ${name(line.site)}. ${text}`,
        "Add what is lacking to the network, or another route or hand-over to the product.",
      );
  });
};
