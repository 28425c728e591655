import type { Composition, Dough } from "../../schemas/index.js";

/**
 * Thermal properties of food from its composition (Choi and Okos; coefficients as in the 2006 ASHRAE Refrigeration handbook,
 * chapter 9, table 1). Valid from -40 to 150 C; the density leaves out gas, so a risen dough is lighter.
 */

export interface Material {
  readonly densityKgPerM3: number;
  readonly cpKjPerKgK: number;
  readonly conductivityWPerMK: number;
}

/** Wheat dough in general: middle of the ranges in reviews of dough properties (from memory; Rask 1989 not read). */
export const WHEAT_DOUGH: Material = { densityKgPerM3: 1150, cpKjPerKgK: 2.7, conductivityWPerMK: 0.4 };

type Part = keyof Composition;
type Quadratic = readonly [number, number, number];

const CP: Readonly<Record<Part, Quadratic>> = {
  water: [4.1289, -9.0864e-5, 5.4731e-6],
  protein: [2.0082, 1.2089e-3, -1.3129e-6],
  fat: [1.9842, 1.4733e-3, -4.8008e-6],
  carbohydrate: [1.5488, 1.9625e-3, -5.9399e-6],
  ash: [1.0926, 1.8896e-3, -3.6817e-6],
};
const CONDUCTIVITY: Readonly<Record<Part, Quadratic>> = {
  water: [0.57109, 1.7625e-3, -6.7036e-6],
  protein: [0.17881, 1.1958e-3, -2.7178e-6],
  fat: [0.18071, -2.7604e-4, -1.7749e-7],
  carbohydrate: [0.20141, 1.3874e-3, -4.3312e-6],
  ash: [0.32962, 1.4011e-3, -2.9069e-6],
};
const DENSITY: Readonly<Record<Part, Quadratic>> = {
  water: [997.18, 3.1439e-3, -3.7574e-3],
  protein: [1329.9, -0.5184, 0],
  fat: [925.59, -0.41757, 0],
  carbohydrate: [1599.1, -0.31046, 0],
  ash: [2423.8, -0.28063, 0],
};
const PARTS = Object.keys(CP) as Part[];

function at([a, b, c]: Quadratic, tempC: number): number {
  return a + b * tempC + c * tempC * tempC;
}

/** cp adds by mass, volume by mass over density, conductivity by volume. */
export function materialFromComposition(composition: Composition, tempC: number): Material {
  let cpKjPerKgK = 0;
  let volume = 0;
  for (const part of PARTS) {
    cpKjPerKgK += composition[part] * at(CP[part], tempC);
    volume += composition[part] / at(DENSITY[part], tempC);
  }
  let conductivityWPerMK = 0;
  for (const part of PARTS) {
    const share = composition[part] / at(DENSITY[part], tempC) / volume;
    conductivityWPerMK += share * at(CONDUCTIVITY[part], tempC);
  }
  return { densityKgPerM3: 1 / volume, cpKjPerKgK, conductivityWPerMK };
}

/** Siebel's older rule for cp above freezing, kJ/(kg K); far below Choi and Okos for dough. */
export function siebelCp(waterShare: number): number {
  return 0.837 + 3.349 * waterShare;
}

/** Doughs are chilled from the mid-twenties to a few degrees; properties are taken in the middle. */
export const PROPERTIES_AT_C = 15;

export type MaterialSource = "measured" | "composition" | "wheat dough";

type ThermalDough = Pick<Dough, "thermal" | "composition">;
type DoughMaterial = Material & { readonly from: MaterialSource };

const materialsKnown = new WeakMap<ThermalDough, DoughMaterial>();

/** A dough's thermal properties and where they are from: measured, computed from its composition, or wheat dough in general. */
export function materialOf(dough: ThermalDough): DoughMaterial {
  const material = materialsKnown.get(dough) ?? workOutMaterial(dough);
  materialsKnown.set(dough, material);
  return material;
}

function workOutMaterial(dough: ThermalDough): DoughMaterial {
  if (dough.thermal) return { ...dough.thermal, from: "measured" };
  if (dough.composition) return { ...materialFromComposition(dough.composition, PROPERTIES_AT_C), from: "composition" };
  return { ...WHEAT_DOUGH, from: "wheat dough" };
}
