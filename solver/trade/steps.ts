import type { HandStep } from "../../schemas/index.js";

/** Minutes of hand work: fixed + per piece + per pan, rounded up, at least 1 (D4). */
export function workedMinutes(step: HandStep, pieces: number, pans: number): number {
  const seconds = pieces * (step.secondsPerPiece ?? 0) + pans * (step.secondsPerPan ?? 0);
  return Math.max(1, Math.ceil((step.fixedMinutes ?? 0) + seconds / 60 - 1e-9));
}
