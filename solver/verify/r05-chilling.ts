import type { Dough, Fridge, TubType } from "../../schemas/index.js";
import { type Facts, retardKind } from "./facts.js";
import { shelfAt } from "./places.js";

/**
 * Excess temperature at the middle of a slab cooled on both faces, as a share of the start, by finite differences
 * (Crank-Nicolson on half the slab, no flow through the middle, film at the face).
 */
export function slabMiddle(halfM: number, alpha: number, conductivity: number, film: number, seconds: number): number {
  const n = 40;
  const dx = halfM / n;
  const steps = Math.max(60, Math.ceil(seconds / 120));
  const r = (alpha * (seconds / steps)) / (2 * dx * dx);
  const beta = (film * dx) / conductivity;
  let u = new Float64Array(n + 1).fill(1);
  const upper = new Float64Array(n + 1);
  const right = new Float64Array(n + 1);
  for (let s = 0; s < steps; s++) {
    const flow = (i: number): number => {
      if (i === 0) return 2 * (u[1]! - u[0]!);
      if (i === n) return 2 * (u[n - 1]! - u[n]! - beta * u[n]!);
      return u[i - 1]! - 2 * u[i]! + u[i + 1]!;
    };
    let previous = 0;
    for (let i = 0; i <= n; i++) {
      const lower = i === 0 ? 0 : i === n ? -2 * r : -r;
      const above = i === 0 ? -2 * r : i === n ? 0 : -r;
      const diagonal = 1 + 2 * r + (i === n ? 2 * r * beta : 0);
      const pivot = diagonal - lower * (i === 0 ? 0 : upper[i - 1]!);
      upper[i] = above / pivot;
      right[i] = (u[i]! + r * flow(i) - lower * previous) / pivot;
      previous = right[i]!;
    }
    const next = new Float64Array(n + 1);
    next[n] = right[n]!;
    for (let i = n - 1; i >= 0; i--) next[i] = right[i]! - upper[i]! * next[i + 1]!;
    u = next;
  }
  return u[0]!;
}

/** Temperature of a tub's middle after so many minutes (D10), C. */
export function tubMiddleC(dough: Dough, tubType: TubType, fridge: Fridge, doughG: number, minutes: number): number {
  const { densityKgPerM3, cpKjPerKgK, conductivityWPerMK } = dough.thermal ?? {
    densityKgPerM3: 1150,
    cpKjPerKgK: 2.7,
    conductivityWPerMK: 0.4,
  };
  const alpha = conductivityWPerMK / (densityKgPerM3 * cpKjPerKgK * 1000);
  const width = tubType.innerWidthMm / 1000;
  const depth = tubType.innerDepthMm / 1000;
  const height = doughG / 1000 / densityKgPerM3 / (width * depth);
  const share = [width, depth, height].reduce(
    (product, side) => product * slabMiddle(side / 2, alpha, conductivityWPerMK, fridge.filmWPerM2K, minutes * 60),
    1,
  );
  return fridge.airTempC + (dough.doughTempC - fridge.airTempC) * share;
}

const known = new Map<string, number>();

/** R5: the middle of every tub reaches its temperature in the time allowed. */
export function checkChilling(facts: Facts): void {
  for (const load of facts.loads) {
    const { dough } = load;
    const tubType = facts.tubTypes.get(dough.tubType ?? "");
    const retard = load.tasks.find(({ task }) => task.does === "retard");
    if (!dough.chill || !tubType || !retard || retardKind(load.route) !== "tubs") continue;
    for (const place of retard.task.places ?? []) {
      const fridge = shelfAt(facts, place.unit)?.fridge;
      const tub = load.load.tubs.find((candidate) => candidate.id === place.item);
      if (!fridge || !tub) continue;
      const key = JSON.stringify([
        dough.thermal,
        dough.doughTempC,
        dough.chill,
        tubType,
        fridge.airTempC,
        fridge.filmWPerM2K,
        tub.doughG,
      ]);
      let middle = known.get(key);
      if (middle === undefined) {
        if (known.size > 10_000) known.clear();
        middle = tubMiddleC(dough, tubType, fridge, tub.doughG, dough.chill.withinMinutes);
        known.set(key, middle);
      }
      if (middle > dough.chill.toTempC + 0.02) {
        facts.report.add(
          "R5",
          "chills-too-slowly",
          `${tub.id} (${Math.round(tub.doughG)} g) is at ${middle.toFixed(1)} C in the middle after ${dough.chill.withinMinutes} min in ${place.unit}, it must be at ${dough.chill.toTempC} C: split it`,
          [retard.task.id],
          { unit: place.unit },
        );
      }
    }
  }
}
