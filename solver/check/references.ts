import { type Check, idsOf, list } from "./context.js";

/** Every id that one document takes from another is there. */
export const checkReferences: Check = (day, findings) => {
  const { network, catalogue, orders } = day;
  const allergens = idsOf(catalogue.allergens);
  const ingredients = idsOf(catalogue.ingredients);
  const doughs = idsOf(catalogue.doughs);
  const products = idsOf(catalogue.products);
  const sites = idsOf(network.sites);
  const pans = idsOf(network.panTypes);
  const tubs = idsOf(network.tubTypes);
  const skills = new Set(network.sites.flatMap((site) => site.crew.flatMap((group) => group.skills)));
  const skill = (name: string, pointer: string): void => {
    if (!skills.has(name))
      findings.add(
        "skill-nobody-has",
        "catalogue",
        pointer,
        `No crew group has the skill ${name}.`,
        `Give it to a group, or use one of ${list(skills)}.`,
      );
  };
  catalogue.ingredients.forEach((ingredient, i) => {
    (ingredient.allergens ?? []).forEach((id, a) => {
      if (!allergens.has(id))
        findings.add(
          "unknown-allergen",
          "catalogue",
          `/ingredients/${i}/allergens/${a}`,
          `${id} is not among the allergens.`,
          `Add it to /allergens, or use one of ${list(allergens)}.`,
        );
    });
  });
  catalogue.doughs.forEach((dough, d) => {
    dough.formula.forEach((line, l) => {
      if (!ingredients.has(line.ingredient))
        findings.add(
          "unknown-ingredient",
          "catalogue",
          `/doughs/${d}/formula/${l}/ingredient`,
          `${line.ingredient} is not among the ingredients.`,
          "Add it to /ingredients or correct the id.",
        );
    });
    skill(dough.mixSkill, `/doughs/${d}/mixSkill`);
    if (dough.tubType !== undefined && !tubs.has(dough.tubType))
      findings.add(
        "unknown-tub-type",
        "catalogue",
        `/doughs/${d}/tubType`,
        `${dough.tubType} is not a tub type of the network.`,
        `Use one of ${list(tubs)}.`,
      );
  });
  catalogue.products.forEach((product, p) => {
    const at = `/products/${p}`;
    if (!doughs.has(product.dough))
      findings.add(
        "unknown-dough",
        "catalogue",
        `${at}/dough`,
        `${product.dough} is not among the doughs.`,
        `Use one of ${list(doughs)}.`,
      );
    if (!pans.has(product.panType))
      findings.add(
        "unknown-pan-type",
        "catalogue",
        `${at}/panType`,
        `${product.panType} is not a pan type of the network.`,
        `Use one of ${list(pans)}.`,
      );
    (product.toppings ?? []).forEach((topping, t) => {
      if (!ingredients.has(topping.ingredient))
        findings.add(
          "unknown-ingredient",
          "catalogue",
          `${at}/toppings/${t}/ingredient`,
          `${topping.ingredient} is not among the ingredients.`,
          "Add it to /ingredients or correct the id.",
        );
    });
    product.routes.forEach((route, r) => {
      route.steps.forEach((step, s) => {
        if ("skill" in step && step.skill !== undefined) skill(step.skill, `${at}/routes/${r}/steps/${s}/skill`);
      });
    });
  });
  network.sites.forEach((site, s) => {
    const seenPans = new Set<string>();
    site.pans.forEach((stock, i) => {
      if (!pans.has(stock.panType))
        findings.add(
          "unknown-pan-type",
          "network",
          `/sites/${s}/pans/${i}/panType`,
          `${stock.panType} is not a pan type.`,
          `Use one of ${list(pans)}.`,
        );
      if (seenPans.has(stock.panType))
        findings.add(
          "stock-twice",
          "network",
          `/sites/${s}/pans/${i}/panType`,
          `The stock of ${stock.panType} is given twice.`,
          "Add the counts up in one entry.",
        );
      seenPans.add(stock.panType);
    });
    const seenTubs = new Set<string>();
    site.tubs.forEach((stock, i) => {
      if (!tubs.has(stock.tubType))
        findings.add(
          "unknown-tub-type",
          "network",
          `/sites/${s}/tubs/${i}/tubType`,
          `${stock.tubType} is not a tub type.`,
          `Use one of ${list(tubs)}.`,
        );
      if (seenTubs.has(stock.tubType))
        findings.add(
          "stock-twice",
          "network",
          `/sites/${s}/tubs/${i}/tubType`,
          `The stock of ${stock.tubType} is given twice.`,
          "Add the counts up in one entry.",
        );
      seenTubs.add(stock.tubType);
    });
    const container = (id: string, pointer: string): void => {
      if (!pans.has(id) && !tubs.has(id))
        findings.add(
          "unknown-container",
          "network",
          pointer,
          `${id} is neither a pan type nor a tub type.`,
          `Use one of ${list([...pans, ...tubs])}.`,
        );
    };
    site.fridges.forEach((fridge, i) => {
      fridge.shelves.forEach((shelf, j) => {
        (shelf.positions ?? []).forEach(({ container: id }, k) =>
          container(id, `/sites/${s}/fridges/${i}/shelves/${j}/positions/${k}/container`),
        );
      });
    });
    site.ovens.forEach((oven, i) => {
      oven.decks.forEach((deck, j) => {
        (deck.positions ?? []).forEach(({ container: id }, k) =>
          container(id, `/sites/${s}/ovens/${i}/decks/${j}/positions/${k}/container`),
        );
      });
    });
  });
  network.vanRuns.forEach((run, i) => {
    for (const end of ["from", "to"] as const) {
      if (!sites.has(run[end]))
        findings.add(
          "unknown-site",
          "network",
          `/vanRuns/${i}/${end}`,
          `${run[end]} is not a site.`,
          `Use one of ${list(sites)}.`,
        );
    }
    if (run.from === run.to)
      findings.add(
        "van-to-itself",
        "network",
        `/vanRuns/${i}/to`,
        "The run ends where it starts.",
        "Correct from or to.",
      );
  });
  orders.lines.forEach((line, i) => {
    if (!products.has(line.product))
      findings.add(
        "unknown-product",
        "orders",
        `/lines/${i}/product`,
        `${line.product} is not in the catalogue.`,
        `Add it to the catalogue or correct the id.`,
      );
    if (!sites.has(line.site))
      findings.add(
        "unknown-site",
        "orders",
        `/lines/${i}/site`,
        `${line.site} is not a site.`,
        `Use one of ${list(sites)}.`,
      );
    if (line.madeAt !== undefined && !sites.has(line.madeAt))
      findings.add(
        "unknown-site",
        "orders",
        `/lines/${i}/madeAt`,
        `${line.madeAt} is not a site.`,
        `Use one of ${list(sites)}.`,
      );
  });
};
