import type { Problem } from "../problem/index.js";
import type { MadeBatch, MadeLoad } from "./context.js";
import { madePieces } from "./cost.js";

/** Pieces of a load that nobody has. */
interface Spare {
  readonly batch: number;
  readonly load: number;
  pieces: number;
}

/**
 * The batches of a repair with their surplus dealt out (D22): lines that lack pieces because a load was left out or thrown away get what other loads have
 * over, those due first, if it is ready by then and still fresh. Otherwise only the next repair would see it. The batches themselves where nothing is dealt out.
 */
export function withSurplusDealt(problem: Problem, batches: readonly MadeBatch[]): readonly MadeBatch[] {
  const loads: MadeLoad[] = [];
  for (const batch of batches) for (const load of batch.loads) loads.push(load);
  const made = madePieces(loads);
  const lacking = problem.index.wants.filter(({ line }) => (made.get(line.id) ?? 0) < line.pieces);
  if (lacking.length === 0) return batches;
  const spares = sparesOf(problem, batches);
  if (spares.length === 0) return batches;
  const dealt = batches.map((batch) => ({ ...batch, loads: batch.loads.slice() }));
  let isDealt = false;
  for (const want of [...lacking].sort((a, b) => a.due - b.due)) {
    const { line, due, freshWithinMinutes } = want;
    let left = line.pieces - (made.get(line.id) ?? 0);
    for (const spare of spares) {
      if (left <= 0) break;
      const { loads: own } = dealt[spare.batch]!;
      const load = own[spare.load]!;
      const { spec, meaning, delivered, finish } = load;
      if (spare.pieces === 0 || spec.product !== line.product || spec.deliverTo !== line.site) continue;
      if (line.madeAt !== undefined && line.madeAt !== meaning.bakeSite) continue;
      if (delivered > due || finish < due - freshWithinMinutes) continue;
      const pieces = Math.min(spare.pieces, left);
      own[spare.load] = { ...load, spec: { ...spec, portions: [...spec.portions, { want, pieces }] } };
      spare.pieces -= pieces;
      left -= pieces;
      isDealt = true;
    }
  }
  return isDealt ? dealt : batches;
}

function sparesOf({ begun }: Problem, batches: readonly MadeBatch[]): Spare[] {
  const spares: Spare[] = [];
  for (let b = 0; b < batches.length; b++) {
    const { loads } = batches[b]!;
    for (let k = 0; k < loads.length; k++) {
      const { spec } = loads[k]!;
      let pieces = spec.pieces - (begun?.loads.get(spec.id)?.load.lostPieces ?? 0);
      for (const portion of spec.portions) pieces -= portion.pieces;
      if (pieces > 0) spares.push({ batch: b, load: k, pieces });
    }
  }
  return spares;
}
