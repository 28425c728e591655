import type { Product, Route } from "../../schemas/index.js";
import { piecesPerPan } from "../geometry/index.js";
import type { Check, Findings } from "./context.js";

/** Ranks of steps in the order in which they can happen; retard and temper may stand before or after shape. */
const BEFORE_SHAPE = ["rest", "retard", "temper", "shape"];
const AFTER_SHAPE = ["retard", "temper", "proof", "boil", "top", "bake", "cool", "pack"];

function checkOrder(findings: Findings, route: Route, at: string): void {
  const does = route.steps.map((step) => step.does);
  for (const needed of ["shape", "bake", "cool"] as const) {
    if (!does.includes(needed))
      findings.add(
        "route-step-missing",
        "catalogue",
        `${at}/steps`,
        `The route has no ${needed}.`,
        `Add a ${needed} step.`,
      );
  }
  const shape = does.indexOf("shape");
  if (shape < 0) return;
  let rank = -1;
  const seen = new Set<string>();
  let retarded = false;
  does.forEach((step, i) => {
    const order = i <= shape ? BEFORE_SHAPE : AFTER_SHAPE;
    const own = order.indexOf(step);
    if (i === shape + 1) rank = -1;
    const isTwice = seen.has(step);
    const needsRetard = step === "temper" && !retarded;
    if (own < 0 || own <= rank || isTwice || needsRetard) {
      const why =
        needsRetard && own >= 0
          ? "temper comes after a retard"
          : isTwice
            ? "each step happens at most once"
            : "it cannot happen there";
      findings.add(
        "route-order",
        "catalogue",
        `${at}/steps/${i}/does`,
        `${step} is out of order: ${why}.`,
        "Order: rest, retard, temper, shape, retard, temper, proof, boil, top, bake, cool, pack; one retard in all.",
      );
    }
    rank = Math.max(rank, own);
    seen.add(step);
    if (step === "retard") retarded = true;
  });
}

function checkSteps(findings: Findings, product: Product, route: Route, at: string, hasTubType: boolean): void {
  route.steps.forEach((step, i) => {
    const here = `${at}/steps/${i}`;
    if ("leastMinutes" in step && step.leastMinutes > step.greatestMinutes) {
      findings.add(
        "least-above-greatest",
        "catalogue",
        `${here}/leastMinutes`,
        `${step.does} lasts at least ${step.leastMinutes} and at most ${step.greatestMinutes} min.`,
        "Exchange or correct the two.",
      );
    }
    if ("leastMinutes" in step && step.tempC !== undefined && step.does !== "proof") {
      findings.add(
        "temperature-not-for-step",
        "catalogue",
        `${here}/tempC`,
        `${step.does} has no temperature of its own.`,
        "Remove tempC; it is for proof only.",
      );
    }
    if ("waitAfter" in step && step.waitAfter && step.waitAfter.leastMinutes > step.waitAfter.greatestMinutes) {
      findings.add(
        "least-above-greatest",
        "catalogue",
        `${here}/waitAfter/leastMinutes`,
        `The wait after ${step.does} is at least ${step.waitAfter.leastMinutes} and at most ${step.waitAfter.greatestMinutes} min.`,
        "Exchange or correct the two.",
      );
    }
    if (step.does === "bake" && (step.attendMinutes ?? 0) > step.minutes)
      findings.add(
        "attend-too-long",
        "catalogue",
        `${here}/attendMinutes`,
        `The bake is attended for ${step.attendMinutes} min and lasts ${step.minutes}.`,
        "People attend from the start of the bake, to load it: give no more than its minutes.",
      );
    if (
      step.does === "bake" &&
      (step.attendMinutes ?? 0) > 0 &&
      (step.heads === undefined || step.skill === undefined)
    ) {
      findings.add(
        "attend-without-people",
        "catalogue",
        `${here}/attendMinutes`,
        "The bake is attended, but heads or skill is missing.",
        "Add heads and skill, or remove attendMinutes.",
      );
    }
  });
  const shape = route.steps.findIndex((step) => step.does === "shape");
  const retard = route.steps.findIndex((step) => step.does === "retard");
  const inTubs = retard >= 0 && retard < shape;
  if (inTubs && !hasTubType)
    findings.add(
      "tub-type-missing",
      "catalogue",
      `${at}/steps/${retard}`,
      `The route retards ${product.dough} dough in tubs, but the dough names no tubType.`,
      `Add tubType to the dough ${product.dough}.`,
    );
  (route.handOvers ?? []).forEach((handOver, i) => {
    const can = handOver === "baked" || (handOver === "tubs" ? inTubs : retard > shape && shape >= 0);
    if (!can)
      findings.add(
        "hand-over-impossible",
        "catalogue",
        `${at}/handOvers/${i}`,
        `The route cannot be handed over as ${handOver}: it has no retard ${handOver === "tubs" ? "before" : "after"} shape.`,
        "Remove the hand-over or change the steps.",
      );
  });
}

/** Formulas and routes make sense by themselves, and pieces fit their pans. */
export const checkCatalogue: Check = (day, findings) => {
  const { catalogue, network } = day;
  catalogue.doughs.forEach((dough, d) => {
    const flours = dough.formula.filter((line) => line.flour);
    const sum = flours.reduce((total, line) => total + line.bakersPercent, 0);
    if (Math.abs(sum - 100) > 0.5)
      findings.add(
        "flour-not-100",
        "catalogue",
        `/doughs/${d}/formula`,
        `The flours of ${dough.id} add up to ${Number(sum.toFixed(2))} %.`,
        "Mark the flours with flour: true and make them add up to 100.",
      );
  });
  const withTubs = new Set(catalogue.doughs.filter((dough) => dough.tubType !== undefined).map((dough) => dough.id));
  catalogue.products.forEach((product, p) => {
    product.routes.forEach((route, r) => {
      const at = `/products/${p}/routes/${r}`;
      checkOrder(findings, route, at);
      checkSteps(findings, product, route, at, withTubs.has(product.dough));
    });
    const panType = network.panTypes.find((type) => type.id === product.panType);
    if (panType && piecesPerPan(product, panType).count === 0) {
      findings.add(
        "fits-no-pan",
        "catalogue",
        `/products/${p}/shape`,
        `Not one ${product.name} fits on ${panType.name} with an edge of ${product.edgeMm} mm.`,
        "Choose a larger pan or check the measures, which are in mm.",
      );
    }
  });
};
