import { type Check, list } from "./context.js";

/** What the trade's sums need is there and makes sense: limits, compositions, stages of mixing, leads of decks, typical proofs. */
export const checkTrade: Check = (day, findings) => {
  const { settings, catalogue, network } = day;
  const limits = new Set<string>();
  (settings.limits ?? []).forEach(({ id }, i) => {
    if (limits.has(id))
      findings.add(
        "duplicate-id",
        "settings",
        `/limits/${i}/id`,
        `The limit ${id} is there twice.`,
        "Give one of them another id.",
      );
    limits.add(id);
  });
  catalogue.doughs.forEach((dough, d) => {
    const at = `/doughs/${d}`;
    if (dough.limit !== undefined && !limits.has(dough.limit))
      findings.add(
        "unknown-limit",
        "catalogue",
        `${at}/limit`,
        `${dough.limit} is not among the limits of the settings.`,
        `Add it to /limits of the settings, or use one of ${list(limits)}.`,
      );
    if (dough.composition) {
      const sum = Object.values(dough.composition).reduce((total, share) => total + share, 0);
      if (Math.abs(sum - 1) > 0.01)
        findings.add(
          "composition-not-1",
          "catalogue",
          `${at}/composition`,
          `The shares add up to ${Math.round(sum * 1000) / 1000}.`,
          "Give mass shares of the whole dough that add up to 1.",
        );
    }
    const stages = (dough.mixStages ?? []).reduce((sum, stage) => sum + stage.minutes, 0);
    if (stages > dough.mixMinutes)
      findings.add(
        "stages-too-long",
        "catalogue",
        `${at}/mixStages`,
        `The stages take ${stages} min, the whole mix ${dough.mixMinutes}.`,
        "Lengthen mixMinutes, which has loading and emptying the bowl in it, or shorten the stages.",
      );
  });
  catalogue.products.forEach((product, p) => {
    product.routes.forEach((route, r) => {
      route.steps.forEach((step, s) => {
        if (!("leastMinutes" in step)) return;
        const given = [step.typicalMinutes, step.atTempC].filter((value) => value !== undefined).length;
        const here = `/products/${p}/routes/${r}/steps/${s}`;
        if (step.does !== "proof" && (given > 0 || step.q10 !== undefined))
          findings.add(
            "temperature-not-for-step",
            "catalogue",
            `${here}/${step.typicalMinutes !== undefined ? "typicalMinutes" : step.atTempC !== undefined ? "atTempC" : "q10"}`,
            `${step.does} has no typical length at a temperature.`,
            "Remove typicalMinutes, atTempC and q10; they are for proof only.",
          );
        else if (given === 1)
          findings.add(
            "typical-incomplete",
            "catalogue",
            `${here}/${step.typicalMinutes === undefined ? "atTempC" : "typicalMinutes"}`,
            "A typical length of a proof needs its temperature, and the reverse.",
            "Give typicalMinutes and atTempC, or neither.",
          );
      });
    });
  });
  network.sites.forEach((site, i) => {
    site.ovens.forEach((oven, o) => {
      oven.decks.forEach((deck, k) => {
        if (deck.coldStartMinutes !== undefined) return;
        if (deck.heatCapacityKjPerK !== undefined && deck.preheatKw !== undefined) return;
        findings.add(
          "deck-lead-unknown",
          "network",
          `/sites/${i}/ovens/${o}/decks/${k}`,
          `Nothing says how long ${deck.id} takes from cold.`,
          "Give coldStartMinutes as measured, or heatCapacityKjPerK and preheatKw.",
        );
      });
    });
  });
};
