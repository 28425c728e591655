import { sharesOf } from "../problem/explode.js";
import type { Problem } from "../problem/index.js";

/**
 * A number by which threads that posed the same day tell whether they mean the same batches and loads: a bound holds for no others. (Sizing
 * is by linear programs with a limit of time, so on a machine that stands still two threads might differ.) FNV-1a, 31 bits.
 */
export function fingerprint(problem: Problem): number {
  const text = JSON.stringify(
    problem.batches.map(({ id, dough, mixSite, loads }) => [
      id,
      dough,
      mixSite,
      loads.map((load) => [load.id, load.product, load.madeAt ?? "", load.pieces, load.pans, sharesOf(load)]),
    ]),
  );
  let hash = 0x811c9dc5;
  for (let i = 0; i < text.length; i++) hash = Math.imul(hash ^ text.charCodeAt(i), 0x01000193);
  return hash >>> 1;
}
