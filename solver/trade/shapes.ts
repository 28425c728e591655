/**
 * Transient conduction in a long cylinder and a sphere with a film at the surface: the full series (Carslaw and Jaeger), excess
 * temperature at the centre as a share of the start. Fourier number alpha t / R^2, Biot number h R / k. Slabs: cooling.ts.
 */
const TERMS = 40;
const HALVINGS = 60;

/** Bessel functions of order 0 and 1: power series, and the integral form beyond it. */
export function besselJ(order: 0 | 1, x: number): number {
  if (Math.abs(x) < 8) {
    let term = order === 0 ? 1 : x / 2;
    let sum = term;
    for (let k = 1; k < 40; k++) {
      term *= -(x * x) / (4 * k * (k + order));
      sum += term;
    }
    return sum;
  }
  // (1/pi) of the integral of cos(n t - x sin t): the trapezium rule converges geometrically on a period.
  const n = Math.ceil(40 + Math.abs(x));
  let sum = 0;
  for (let i = 0; i < 2 * n; i++) {
    const t = (Math.PI * i) / n;
    sum += Math.cos(order * t - x * Math.sin(t));
  }
  return sum / (2 * n);
}

/** A root of f between low and high, where f changes sign once. */
function bisect(f: (z: number) => number, low: number, high: number): number {
  const rising = f(low) < 0;
  let a = low;
  let b = high;
  for (let i = 0; i < HALVINGS; i++) {
    const middle = (a + b) / 2;
    if (f(middle) < 0 === rising) a = middle;
    else b = middle;
  }
  return (a + b) / 2;
}

/** Roots of z J1(z) = Bi J0(z). */
export function cylinderRoots(biot: number, terms = TERMS): number[] {
  const f = (z: number): number => z * besselJ(1, z) - biot * besselJ(0, z);
  const roots: number[] = [];
  const step = 0.1;
  for (let z = 1e-6; roots.length < terms; z += step)
    if (f(z) < 0 !== f(z + step) < 0) roots.push(bisect(f, z, z + step));
  return roots;
}

/** Roots of 1 - z cot z = Bi, one in each (n pi, (n + 1) pi). */
export function sphereRoots(biot: number, terms = TERMS): number[] {
  const f = (z: number): number => (1 - biot) * Math.sin(z) - z * Math.cos(z);
  return Array.from({ length: terms }, (_, n) => bisect(f, n * Math.PI + 1e-9, (n + 1) * Math.PI - 1e-9));
}

/** First coefficient and the rest: 2 J1 / (z (J0^2 + J1^2)). */
export function cylinderCoefficient(z: number): number {
  const j0 = besselJ(0, z);
  const j1 = besselJ(1, z);
  return (2 * j1) / (z * (j0 * j0 + j1 * j1));
}

export function sphereCoefficient(z: number): number {
  return (4 * (Math.sin(z) - z * Math.cos(z))) / (2 * z - Math.sin(2 * z));
}

function series(roots: readonly number[], coefficient: (z: number) => number, fourier: number): number {
  if (fourier <= 0) return 1;
  return Math.min(
    1,
    roots.reduce((sum, z) => sum + coefficient(z) * Math.exp(-z * z * fourier), 0),
  );
}

export function cylinderCentre(biot: number, fourier: number): number {
  return series(cylinderRoots(biot), cylinderCoefficient, fourier);
}

export function sphereCentre(biot: number, fourier: number): number {
  return series(sphereRoots(biot), sphereCoefficient, fourier);
}

/** Radius of a ball of dough, m. */
export function sphereRadiusM(massKg: number, densityKgPerM3: number): number {
  return Math.cbrt((3 * massKg) / (4 * Math.PI * densityKgPerM3));
}
