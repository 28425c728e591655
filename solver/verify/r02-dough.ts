import type { Mixer } from "../../schemas/index.js";
import { panLimit } from "./count.js";
import { type Facts, mixerAt, tasksThat } from "./facts.js";

function limitG({ limits }: Mixer, absorptionPercent: number): number | null {
  let best: Mixer["limits"][number] | null = null;
  for (const row of limits) {
    if (row.fromAbsorptionPercent > absorptionPercent) continue;
    if (best === null || row.fromAbsorptionPercent > best.fromAbsorptionPercent) best = row;
  }
  return best === null ? null : best.maxDoughG;
}

/** What is drawn from a batch. */
interface Drawn {
  massG: number;
  count: number;
}

const NOTHING: Drawn = { massG: 0, count: 0 };

/**
 * R2: each load draws from one batch of its dough; masses add up; batches keep the mixer's limits. D3. What has been mixed is as it was mixed (D21), whatever the
 * documents say now of pieces, pans, tubs and mixers.
 */
export function checkDough(facts: Facts): void {
  const { report, begun } = facts;
  const drawn = new Map<string, Drawn>();
  for (const { load, product, dough, way, batch, mix } of facts.loads) {
    const isMixed = mix !== null && begun.has(mix.task.id);
    if (!isMixed && batch.dough !== product.dough)
      report.add(
        "R2",
        "wrong-dough",
        `load ${load.id} is ${product.dough} dough, its batch ${batch.id} is ${batch.dough}`,
      );
    const wanted = (load.pieces * product.pieceG) / (1 - (product.dividerLossPercent ?? 0) / 100);
    if (!isMixed && Math.abs(load.doughG - wanted) > 1)
      report.add(
        "R2",
        "load-mass",
        `load ${load.id} has ${load.doughG} g of dough, ${load.pieces} pieces take ${wanted.toFixed(1)} g`,
      );
    let sum = drawn.get(batch.id);
    if (!sum) {
      sum = { massG: 0, count: 0 };
      drawn.set(batch.id, sum);
    }
    sum.massG += load.doughG;
    sum.count++;
    const panType = facts.panTypes.get(product.panType);
    if (!isMixed && panType && load.pieces > load.pans * panLimit(product, panType)) {
      report.add(
        "R2",
        "pan-too-full",
        `load ${load.id} has ${load.pieces} pieces on ${load.pans} pans of at most ${panLimit(product, panType)}`,
      );
    }
    if (way.retards !== "tubs") {
      if (load.tubs.length > 0)
        report.add("R2", "tubs-not-wanted", `load ${load.id} has tubs, but its route retards none`);
      continue;
    }
    let inTubs = 0;
    for (const { doughG } of load.tubs) inTubs += doughG;
    if (Math.abs(inTubs - load.doughG) > Math.max(1, load.tubs.length))
      report.add("R2", "tub-mass", `the tubs of load ${load.id} hold ${inTubs} g, the load is ${load.doughG} g`);
    const tubType = facts.tubTypes.get(dough.tubType ?? "");
    for (const tub of load.tubs) {
      if (!isMixed && tubType && tub.doughG > tubType.maxDoughG + 1e-6)
        report.add("R2", "tub-too-full", `tub ${tub.id} holds ${tub.doughG} g, at most ${tubType.maxDoughG} g go in`);
    }
  }
  for (const { task } of tasksThat(facts, "mix")) {
    const batch = facts.batches.get(task.batch ?? "");
    const mixer = mixerAt(facts, task.unit);
    const dough = facts.doughs.get(batch?.dough ?? "");
    if (!batch || !dough) continue;
    const isBegun = begun.has(task.id);
    if (!mixer && !isBegun) {
      report.add("R2", "no-mixer", `${task.id} is not on a mixer`, [task.id]);
      continue;
    }
    const { massG, count } = drawn.get(batch.id) ?? NOTHING;
    if (Math.abs(batch.massG - batch.spareG - massG) > 1 + count * 0.5) {
      report.add(
        "R2",
        "batch-mass",
        `batch ${batch.id} is ${batch.massG} g with ${batch.spareG} g to spare, its loads take ${massG} g`,
        [task.id],
      );
    }
    if (isBegun || !mixer) continue;
    const limit = limitG(mixer, dough.absorptionPercent);
    const least = Math.max(mixer.minDoughG, dough.minBatchG ?? 0);
    if (limit === null) report.add("R2", "too-stiff", `${dough.id} dough is too stiff for ${task.unit}`, [task.id]);
    else if (batch.massG > limit + 1)
      report.add(
        "R2",
        "batch-too-big",
        `batch ${batch.id} is ${batch.massG} g, ${task.unit} takes ${limit} g of ${dough.id} dough`,
        [task.id],
      );
    if (batch.massG < least - 1)
      report.add(
        "R2",
        "batch-too-small",
        `batch ${batch.id} is ${batch.massG} g, the least on ${task.unit} is ${least} g`,
        [task.id],
      );
  }
}
