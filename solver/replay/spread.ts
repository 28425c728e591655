import type { DayDocuments, Task } from "../../schemas/index.js";
import type { Rng } from "../rng.js";
import type { PlanGraph } from "./graph.js";

/**
 * How much durations vary when the catalogue does not say: standard deviation in percent of the mean. Common practice, no source: machines keep time, hands
 * do not, traffic least of all.
 */
export const DEFAULT_SPREAD_PERCENT: Readonly<Partial<Record<Task["does"], number>>> = {
  mix: 5,
  shape: 15,
  boil: 8,
  top: 15,
  bake: 4,
  pack: 15,
  van: 15,
};

/** For every node: spread of its minutes, as a share of the mean. */
export function spreads(day: DayDocuments, graph: PlanGraph): Float64Array {
  const batches = new Map(graph.timetable.batches.map((batch) => [batch.id, batch]));
  const loads = new Map(graph.timetable.loads.map((load) => [load.id, load]));
  const doughs = new Map(day.catalogue.doughs.map((dough) => [dough.id, dough]));
  return Float64Array.from(graph.nodes, ({ task }) => {
    const usual = DEFAULT_SPREAD_PERCENT[task.does] ?? 0;
    if (task.does === "mix") {
      const dough = doughs.get(batches.get(task.batch ?? "")?.dough ?? "");
      return (dough?.mixSpreadPercent ?? usual) / 100;
    }
    const load = loads.get(task.load ?? "");
    const product = graph.index.products.get(load?.product ?? "");
    const step = product?.routes
      .find((route) => route.id === load?.route)
      ?.steps.find((candidate) => candidate.does === task.does);
    const given = step && "spreadPercent" in step ? step.spreadPercent : undefined;
    return (given ?? usual) / 100;
  });
}

/** A normal variate (Box & Muller, 1958). */
function normal(rng: Rng): number {
  return Math.sqrt(-2 * Math.log(1 - rng.unit())) * Math.cos(2 * Math.PI * rng.unit());
}

/**
 * A gamma variate of mean 1 and the given coefficient of variation (Marsaglia & Tsang, "A simple method for generating gamma variables", 2000). A coefficient of 1 is
 * the exponential distribution. Durations of work are never negative and lean to the long side; the gamma family does both.
 */
export function gammaOfMeanOne(rng: Rng, variation: number): number {
  if (variation <= 0) return 1;
  const shape = 1 / (variation * variation);
  if (shape < 1) {
    // Of a greater shape, times a power of a uniform variate.
    const lifted = gammaOfShape(rng, shape + 1);
    return (lifted * (1 - rng.unit()) ** (1 / shape)) / shape;
  }
  return gammaOfShape(rng, shape) / shape;
}

function gammaOfShape(rng: Rng, shape: number): number {
  const d = shape - 1 / 3;
  const c = 1 / Math.sqrt(9 * d);
  for (;;) {
    const x = normal(rng);
    const v = (1 + c * x) ** 3;
    if (v <= 0) continue;
    const u = 1 - rng.unit();
    if (Math.log(u) < 0.5 * x * x + d - d * v + d * Math.log(v)) return d * v;
  }
}
