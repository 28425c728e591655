/** Units of the kitchens that read the sheets. Definitions: international pound and inch, Fahrenheit scale. */

export const G_PER_LB = 453.59237;
export const G_PER_OZ = G_PER_LB / 16;
export const MM_PER_INCH = 25.4;
/** US liquid quart. */
export const LITRES_PER_QUART = 0.946352946;
const F_PER_C = 1.8;

export const cToF = (tempC: number): number => tempC * F_PER_C + 32;
export const fToC = (tempF: number): number => (tempF - 32) / F_PER_C;
/** A difference, not a temperature: a friction factor of 18 F is 10 C. */
export const fDifferenceToC = (differenceF: number): number => differenceF / F_PER_C;
export const gToLb = (massG: number): number => massG / G_PER_LB;
export const lbToG = (massLb: number): number => massLb * G_PER_LB;
