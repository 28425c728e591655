import type { Batch, Load, Timetable } from "../../schemas/index.js";
import type { Facts } from "./facts.js";

/** Pieces of a load that are told to be lost. */
function toldLost({ day }: Facts, load: Load): number {
  let lost = 0;
  for (const happening of day.happenings.happenings)
    if (happening.kind === "pieces-lost" && happening.load === load.id) lost += happening.pieces;
  return Math.min(load.pieces, lost);
}

/** R1: pieces that were lost of what is mixed serve no order; a batch that came out light lacks as much of its loads as it lacks, and no more. D22. */
export function checkLosses(facts: Facts): void {
  const { day, timetable, begun } = facts;
  if (!day.inForce) return;
  const isTold = day.happenings.happenings.some(({ kind }) => kind === "pieces-lost" || kind === "short-batch");
  if (!isTold && !day.inForce.loads.some(({ lostPieces }) => lostPieces !== undefined)) return;
  const before = new Map(day.inForce.loads.map((load) => [load.id, load]));
  for (const load of timetable.loads) {
    const old = before.get(load.id);
    if (!old || load.scrapped || !begun.has(`${load.batch}-mix`)) continue;
    const short = load.shortPieces ?? 0;
    const told = toldLost(facts, old);
    const wanted = Math.min(old.pieces, Math.max(old.lostPieces ?? 0, told + short));
    const lost = load.lostPieces ?? 0;
    if (lost !== wanted || short < shortBefore(facts, old))
      facts.report.add("R1", "lost-pieces", `load ${load.id} has lost ${wanted} pieces, the timetable says ${lost}`);
  }
  for (const batch of day.inForce.batches)
    if (begun.has(`${batch.id}-mix`)) checkBatch(facts, batch, day.inForce, timetable);
}

/** Pieces that a load lacked already since its batch came out light. */
function shortBefore(facts: Facts, old: Load): number {
  if (old.scrapped) return 0;
  return old.shortPieces ?? Math.max(0, (old.lostPieces ?? 0) - toldLost(facts, old));
}

function checkBatch(facts: Facts, batch: Batch, inForce: Timetable, timetable: Timetable): void {
  let missingG = -batch.spareG;
  for (const happening of facts.day.happenings.happenings)
    if (happening.kind === "short-batch" && happening.batch === batch.id) missingG += happening.missingG;
  const now = new Map(timetable.loads.map((load) => [load.id, load]));
  /** What it lacked before, and of what was thrown away before; what loads lack now besides; what could go with others that are thrown away. */
  let coveredG = 0;
  let takenG = 0;
  let scrappedG = 0;
  let greatestPieceG = 0;
  let isAllLost = true;
  for (const old of inForce.loads) {
    if (old.batch !== batch.id) continue;
    const pieceG = old.doughG / old.pieces;
    const load = now.get(old.id);
    const carried = shortBefore(facts, old);
    greatestPieceG = Math.max(greatestPieceG, pieceG);
    coveredG += old.scrapped ? old.doughG : carried * pieceG;
    if (!load || load.scrapped) scrappedG += old.scrapped ? 0 : old.doughG - carried * pieceG;
    else {
      takenG += ((load.shortPieces ?? 0) - carried) * pieceG;
      isAllLost &&= (load.lostPieces ?? 0) >= load.pieces;
    }
  }
  const neededG = Math.max(0, missingG - coveredG);
  const isTooMuch = takenG > 0.5 && takenG >= neededG + greatestPieceG;
  if (isTooMuch || (takenG + scrappedG < neededG - 0.5 && !isAllLost))
    facts.report.add(
      "R1",
      "short-batch",
      `batch ${batch.id} lacks ${Math.round(neededG)} g more than its loads did, they lack ${Math.round(takenG)} g more now`,
    );
}
