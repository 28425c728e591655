import type { DayDocuments, Dough, Product, Route, Site } from "../../schemas/index.js";
import { panItemHeightMm, piecesPerPan, positionsOnDeck, positionsOnShelf } from "../geometry/index.js";
import { tubLimitG } from "../problem/containers.js";
import { leastBatchG, mixerLimitG } from "../trade/dough.js";
import { limitOf } from "../trade/holding.js";
import { piecesPerDip } from "../trade/kettle.js";
import { type Check, list } from "./context.js";

/** Parts of a route that belong to one site: before a chilled hand-over, after it, or all. */
type Part = "all" | "before" | "after";

interface Wanting {
  readonly site: string;
  readonly lacks: readonly string[];
}

function isTubRoute(route: Route): boolean {
  const retard = route.steps.findIndex((step) => step.does === "retard");
  return retard >= 0 && retard < route.steps.findIndex((step) => step.does === "shape");
}

/** What a site lacks for a part of a route, in words. */
function lacks(day: DayDocuments, site: Site, product: Product, dough: Dough, route: Route, part: Part): string[] {
  const found: string[] = [];
  const panType = day.network.panTypes.find((type) => type.id === product.panType);
  if (!panType) return ["the pan type"];
  const hasSkill = (skill: string | undefined): boolean =>
    skill === undefined || site.crew.some((group) => group.skills.includes(skill));
  const retard = route.steps.findIndex((step) => step.does === "retard");
  if (part !== "after") {
    const mixers = site.mixers.filter((mixer) => {
      const limit = mixerLimitG(mixer, dough.absorptionPercent);
      return limit !== null && limit >= leastBatchG(mixer, dough);
    });
    if (mixers.length === 0) found.push(`a mixer for dough of ${dough.absorptionPercent} % absorption`);
    if ((dough.mixHeads ?? 1) > 0 && !hasSkill(dough.mixSkill)) found.push(`people who ${dough.mixSkill}`);
  }
  route.steps.forEach((step, i) => {
    if (part === "before" && i > retard) return;
    if (part === "after" && i < retard) return;
    if ("skill" in step && !hasSkill(step.skill)) found.push(`people with the skill ${step.skill}`);
    if (step.does === "shape" || step.does === "top" || step.does === "pack") {
      if (!site.benches.some((bench) => bench.places >= step.heads)) found.push(`a bench for ${step.heads}`);
      if (step.does === "shape" && !site.pans.some((stock) => stock.panType === panType.id && stock.count > 0))
        found.push(`pans of ${panType.id}`);
    }
    if (
      step.does === "proof" &&
      !site.proofers.some((proofer) => step.tempC === undefined || step.tempC === proofer.tempC)
    )
      found.push(`a proofer${step.tempC === undefined ? "" : ` at ${step.tempC} C`}`);
    if (step.does === "boil" && !site.kettles.some((kettle) => piecesPerDip(kettle, product) !== null))
      found.push("a kettle for pieces of this size");
    if (step.does === "bake") {
      const decks = site.ovens.flatMap((oven) => oven.decks);
      const hot = decks.filter((deck) => deck.maxTempC >= step.tempC);
      if (hot.length === 0) found.push(`a deck that reaches ${step.tempC} C`);
      else if (!hot.some((deck) => positionsOnDeck(deck, panType, panItemHeightMm(product, panType)).count > 0))
        found.push(`a deck at ${step.tempC} C on which ${panType.id} fits`);
    }
    if (step.does === "cool" && site.racks.length === 0) found.push("a rack");
    if (step.does === "retard") found.push(...lacksFridge(day, site, product, dough, route, part));
  });
  return [...new Set(found)];
}

function lacksFridge(
  day: DayDocuments,
  site: Site,
  product: Product,
  dough: Dough,
  route: Route,
  part: Part,
): string[] {
  const panType = day.network.panTypes.find((type) => type.id === product.panType)!;
  const { coldAtMostC = Number.POSITIVE_INFINITY } = limitOf(day.settings, dough);
  const fridges = site.fridges.filter((fridge) => fridge.airTempC <= coldAtMostC);
  if (fridges.length === 0 && site.fridges.length > 0) return [`a fridge at ${coldAtMostC} C or below`];
  if (!isTubRoute(route)) {
    const pieces = Math.max(1, piecesPerPan(product, panType).count);
    const container = {
      kind: "pan" as const,
      panType,
      itemHeightMm: panItemHeightMm(product, panType),
      itemMassG: panType.massG + pieces * product.pieceG,
    };
    const fits = fridges.some((fridge) =>
      fridge.shelves.some((shelf) => positionsOnShelf(fridge, shelf, container).count > 0),
    );
    return fits ? [] : [`a fridge shelf for ${panType.id}`];
  }
  const tubType = day.network.tubTypes.find((type) => type.id === dough.tubType);
  if (!tubType) return [];
  const wanting: string[] = [];
  if (part !== "after" && !site.tubs.some((stock) => stock.tubType === tubType.id && stock.count > 0))
    wanting.push(`tubs of ${tubType.id}`);
  const fits = fridges.some((fridge) => {
    const massG = part === "after" ? 1 : tubLimitG(tubType, dough, fridge);
    return (
      massG > 0 &&
      fridge.shelves.some(
        (shelf) =>
          positionsOnShelf(fridge, shelf, { kind: "tub", tubType, itemMassG: tubType.massG + massG }).count > 0,
      )
    );
  });
  if (!fits) wanting.push(`a fridge shelf for ${tubType.id} that chills the dough in time`);
  return wanting;
}

/** How a product can come to be at a site; empty when it can, else what is wanting, per way. */
function wantingFor(
  day: DayDocuments,
  product: Product,
  dough: Dough,
  siteId: string,
  madeAt: string | undefined,
): Wanting[] {
  const sites = new Map(day.network.sites.map((site) => [site.id, site]));
  const wanting: Wanting[] = [];
  const there = sites.get(siteId)!;
  for (const route of product.routes) {
    const tries: { site: string; lacks: string[] }[] = [];
    if (madeAt === undefined || madeAt === siteId)
      tries.push({ site: siteId, lacks: lacks(day, there, product, dough, route, "all") });
    for (const run of day.network.vanRuns) {
      const from = sites.get(run.from);
      if (run.to !== siteId || !from) continue;
      for (const handOver of route.handOvers ?? []) {
        if (handOver === "baked") {
          if (madeAt === undefined || madeAt === run.from)
            tries.push({ site: run.from, lacks: lacks(day, from, product, dough, route, "all") });
        } else if (madeAt === undefined || madeAt === siteId) {
          tries.push({
            site: `${run.from} and ${siteId}`,
            lacks: [
              ...lacks(day, from, product, dough, route, "before"),
              ...lacks(day, there, product, dough, route, "after").map((what) => `${what} at ${siteId}`),
            ],
          });
        }
      }
    }
    if (tries.some((attempt) => attempt.lacks.length === 0)) return [];
    wanting.push(...tries);
  }
  return wanting;
}

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
  const sites = new Set(day.network.sites.map((site) => site.id));
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
  const known = new Map<string, Wanting[]>();
  day.orders.lines.forEach((line, i) => {
    const product = day.catalogue.products.find((candidate) => candidate.id === line.product);
    const dough = product ? doughs.get(product.dough) : undefined;
    if (!product || !dough || !sites.has(line.site) || (line.madeAt !== undefined && !sites.has(line.madeAt))) return;
    const key = `${line.product} ${line.site} ${line.madeAt ?? ""}`;
    let wanting = known.get(key);
    const isNew = wanting === undefined;
    if (wanting === undefined) {
      wanting = wantingFor(day, product, dough, line.site, line.madeAt);
      if (wanting.length === 0 && !canReach(day, product, line.site, line.madeAt))
        wanting = [
          { site: line.madeAt ?? line.site, lacks: ["a van run that brings it, or a hand-over that its routes allow"] },
        ];
      known.set(key, wanting);
    }
    if (wanting.length === 0 || !isNew) return;
    const best = [...wanting].sort((a, b) => a.lacks.length - b.lacks.length).slice(0, 3);
    const text = best.map(({ site, lacks: what }) => `${site} lacks ${list(what)}`).join("; ");
    if (line.madeAt !== undefined)
      findings.add(
        "made-at-cannot",
        "orders",
        `/lines/${i}/madeAt`,
        `${line.madeAt} cannot make ${product.name} for ${line.site}: ${text}.`,
        "Fix it to another site, or add what is lacking.",
      );
    else
      findings.add(
        "no-site-can-make",
        "orders",
        `/lines/${i}/product`,
        `Nobody can make ${product.name} for ${line.site}: ${text}.`,
        "Add what is lacking to the network, or another route or hand-over to the product.",
      );
  });
};

/** With no way at all there is nothing that could lack something. */
function canReach(day: DayDocuments, product: Product, siteId: string, madeAt: string | undefined): boolean {
  if (madeAt === undefined || madeAt === siteId) return true;
  return (
    day.network.vanRuns.some((run) => run.from === madeAt && run.to === siteId) &&
    product.routes.some((route) => (route.handOvers ?? []).includes("baked"))
  );
}
