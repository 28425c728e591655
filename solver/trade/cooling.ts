import type { Dough, Fridge, TubType } from "../../schemas/index.js";
import { type Material, materialOf } from "./thermal.js";

/**
 * Transient conduction with a film coefficient: series solutions (Carslaw & Jaeger; the eigenvalues are those tabulated in
 * heat-transfer handbooks), and their product for a finite block. Valid for constant properties and air temperature.
 */

/** Terms of the series: enough for Fourier numbers down to 0.005. */
const TERMS = 30;

const rootsKnown = new Map<number, readonly number[]>();
const MOST_ROOTS = 20_000;

/** Roots of z tan z = Bi, one in each [n pi, n pi + pi/2). Tubs are alike: the same few numbers are asked for over and over. */
export function slabRoots(biot: number, terms = TERMS): readonly number[] {
  if (terms !== TERMS) return findRoots(biot, terms);
  let roots = rootsKnown.get(biot);
  if (!roots) {
    roots = findRoots(biot, terms);
    if (rootsKnown.size >= MOST_ROOTS) rootsKnown.clear();
    rootsKnown.set(biot, roots);
  }
  return roots;
}

function findRoots(biot: number, terms: number): number[] {
  return Array.from({ length: terms }, (_, n) => {
    let low = n * Math.PI;
    let high = low + Math.PI / 2;
    for (let i = 0; i < 60; i++) {
      const middle = (low + high) / 2;
      const beyond = (middle * Math.sin(middle) - biot * Math.cos(middle)) * (n % 2 === 0 ? 1 : -1) > 0;
      if (beyond) high = middle;
      else low = middle;
    }
    return (low + high) / 2;
  });
}

/** Excess temperature at a slab's middle, as a share of the start; Fourier number alpha t / L^2, L half the thickness. */
export function slabCentre(biot: number, fourier: number): number {
  if (fourier <= 0) return 1;
  let sum = 0;
  for (const z of slabRoots(biot)) {
    sum += ((4 * Math.sin(z)) / (2 * z + Math.sin(2 * z))) * Math.exp(-z * z * fourier);
  }
  return Math.min(1, sum);
}

/** Thermal diffusivity, m2/s. */
export function diffusivity(material: Material): number {
  return material.conductivityWPerMK / (material.densityKgPerM3 * material.cpKjPerKgK * 1000);
}

export interface Block {
  readonly widthMm: number;
  readonly depthMm: number;
  readonly heightMm: number;
}

/**
 * How the middle of a block cools with the film on all faces: excess temperature by seconds, as a share of the start (product of three
 * slabs). The roots are found once.
 */
export function blockCurve(block: Block, material: Material, filmWPerM2K: number): (seconds: number) => number {
  const alpha = diffusivity(material);
  const sides = [block.widthMm, block.depthMm, block.heightMm].map((side) => {
    const half = side / 2000;
    const terms = slabRoots((filmWPerM2K * half) / material.conductivityWPerMK).map((z) => ({
      weight: (4 * Math.sin(z)) / (2 * z + Math.sin(2 * z)),
      decay: (z * z * alpha) / half ** 2,
    }));
    return terms;
  });
  return (seconds) => {
    if (seconds <= 0) return 1;
    let share = 1;
    for (const terms of sides) {
      let sum = 0;
      for (const { weight, decay } of terms) sum += weight * Math.exp(-decay * seconds);
      share *= Math.min(1, sum);
    }
    return share;
  };
}

/** One point of the curve above. */
export function blockCentre(block: Block, material: Material, filmWPerM2K: number, seconds: number): number {
  return blockCurve(block, material, filmWPerM2K)(seconds);
}

/** Dough in a tub as a block: the tub's inner floor, as deep as the mass makes it. */
export function tubBlock(tubType: TubType, material: Material, doughG: number): Block {
  const areaM2 = (tubType.innerWidthMm * tubType.innerDepthMm) / 1e6;
  const heightMm = (doughG / 1000 / material.densityKgPerM3 / areaM2) * 1000;
  return { widthMm: tubType.innerWidthMm, depthMm: tubType.innerDepthMm, heightMm };
}

/** Of the allowed time, so much is used when tubs are sized, so that another way of computing agrees. */
const TIME_SHARE = 0.99;

/**
 * The greatest dough mass of a tub, g, whose middle reaches chill.toTempC within chill.withinMinutes (D10); 0 when none does;
 * tubType.maxDoughG when the dough has no chilling limit.
 */
export function greatestTubMassG({
  tubType,
  dough,
  fridge,
}: {
  tubType: TubType;
  dough: Dough;
  fridge: Fridge;
}): number {
  const { chill } = dough;
  if (!chill) return Math.floor(tubType.maxDoughG);
  if (dough.doughTempC <= chill.toTempC) return Math.floor(tubType.maxDoughG);
  if (fridge.airTempC >= chill.toTempC) return 0;
  const material = materialOf(dough);
  const key = [
    ...[material.densityKgPerM3, material.cpKjPerKgK, material.conductivityWPerMK],
    ...[dough.doughTempC, chill.toTempC, chill.withinMinutes, fridge.airTempC, fridge.filmWPerM2K],
    ...[tubType.innerWidthMm, tubType.innerDepthMm, tubType.maxDoughG],
  ].join(" ");
  let massG = massesKnown.get(key);
  if (massG === undefined) {
    massG = findTubMassG(tubType, dough, fridge, chill, material);
    if (massesKnown.size >= MOST_ROOTS) massesKnown.clear();
    massesKnown.set(key, massG);
  }
  return massG;
}

const massesKnown = new Map<string, number>();

function findTubMassG(
  tubType: TubType,
  dough: Dough,
  fridge: Fridge,
  chill: NonNullable<Dough["chill"]>,
  material: Material,
): number {
  const wanted = (chill.toTempC - fridge.airTempC) / (dough.doughTempC - fridge.airTempC);
  const seconds = chill.withinMinutes * 60 * TIME_SHARE;
  const cools = (massG: number): boolean =>
    blockCentre(tubBlock(tubType, material, massG), material, fridge.filmWPerM2K, seconds) <= wanted;
  let high = Math.floor(tubType.maxDoughG);
  if (cools(high)) return high;
  let low = 0;
  while (high - low > 1) {
    const middle = Math.floor((low + high) / 2);
    if (middle > 0 && cools(middle)) low = middle;
    else high = middle;
  }
  return low;
}
