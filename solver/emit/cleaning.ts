import type { Task } from "../../schemas/index.js";
import { outagesOf } from "../problem/day-index.js";
import type { Problem } from "../problem/index.js";
import { allergensOfDough, allergensOfProduct, needsClean } from "../trade/dough.js";
import { type Clock, type MadeBatch, type ScrappedLoad, takeOn } from "./context.js";

interface Use {
  readonly start: number;
  readonly end: number;
  readonly allergens: ReadonlySet<string>;
  readonly lyePercent: number;
}

/** What is done when on every mixer, bench and kettle, by unit. */
function usesByUnit(
  problem: Problem,
  batches: readonly MadeBatch[],
  scrapped: readonly ScrappedLoad[],
): Map<string, Use[]> {
  const uses = new Map<string, Use[]>();
  const add = (unit: string, use: Use): void => {
    const own = uses.get(unit);
    if (own) own.push(use);
    else uses.set(unit, [use]);
  };
  const { index, prepared } = problem;
  const { catalogue } = index.day;
  for (const batch of batches) {
    const dough = index.doughs.get(problem.batches[batch.number]!.dough)!;
    const doughAllergens = allergensOfDough(catalogue, dough);
    add(`${batch.site}/${batch.mixer}`, {
      start: batch.start,
      end: batch.end,
      allergens: doughAllergens,
      lyePercent: 0,
    });
    for (const load of batch.loads) {
      const productAllergens = allergensOfProduct(catalogue, index.products.get(load.spec.product)!);
      for (const { step, operation } of load.meaning.steps) {
        if (operation < 0 || step.does === "bake") continue;
        const start = load.starts[operation]!;
        const take = takeOn(load, load.mode.operations[operation]!, start);
        if (!take) continue;
        const isBoil = step.does === "boil";
        add(prepared.book.meanings[take.row]!.unit!, {
          start,
          end: load.ends[operation]!,
          allergens: isBoil ? doughAllergens : productAllergens,
          lyePercent: step.does === "boil" ? (step.lyePercent ?? 0) : 0,
        });
      }
    }
  }
  for (const { begun, tasks } of scrapped) {
    const product = index.products.get(begun.load.product)!;
    const step = product.routes.flatMap((route) => route.steps).find((candidate) => candidate.does === "boil");
    for (const { task, start, end } of tasks) {
      if (task.unit === undefined || task.does === "bake") continue;
      const isBoil = task.does === "boil";
      add(task.unit, {
        start,
        end,
        allergens: isBoil
          ? allergensOfDough(catalogue, index.doughs.get(product.dough)!)
          : allergensOfProduct(catalogue, product),
        lyePercent: isBoil && step?.does === "boil" ? (step.lyePercent ?? 0) : 0,
      });
    }
  }
  return uses;
}

function cleaningMinutes(problem: Problem, unit: string): number {
  const [siteId, unitId] = unit.split("/");
  const site = problem.index.sites.get(siteId!)!;
  const station = [...site.mixers, ...site.benches, ...site.kettles].find((candidate) => candidate.id === unitId);
  return station?.cleaningMinutes ?? 0;
}

/** The latest start of work of so many minutes that is done by `by`, clear of outages (latest first). */
function lastStart(
  outages: readonly { readonly from: number; readonly to: number }[],
  by: number,
  minutes: number,
): number {
  let start = by - minutes;
  for (const outage of outages) if (start < outage.to && outage.from < start + minutes) start = outage.from - minutes;
  return start;
}

/** Whether one use leaves what another may not touch: asked for every pair on a unit, and of few kinds. */
function soiling(): (last: Use, next: Use) => boolean {
  const known = new Map<ReadonlySet<string>, Map<ReadonlySet<string>, boolean>>();
  return (last, next) => {
    if (last.lyePercent !== next.lyePercent) return true;
    if (last.allergens === next.allergens) return false;
    let ofLast = known.get(last.allergens);
    if (!ofLast) {
      ofLast = new Map();
      known.set(last.allergens, ofLast);
    }
    let soils = ofLast.get(next.allergens);
    if (soils === undefined) {
      soils = needsClean(last.allergens, next.allergens);
      ofLast.set(next.allergens, soils);
    }
    return soils;
  };
}

/** When a unit is cleaned: just before the first use that may not touch what was left, clear of outages. */
function cleanings(problem: Problem, unit: string, uses: readonly Use[], minutes: number): number[] {
  const sorted = [...uses].sort((a, b) => a.start - b.start || a.end - b.end);
  const begun = (problem.begun?.cleans ?? []).filter(
    (clean) => clean.unit === unit && clean.end - clean.start >= minutes,
  );
  const starts = begun.map((clean) => clean.start);
  const outages = [...outagesOf(problem.index, unit)].sort((a, b) => b.from - a.from);
  const soils = soiling();
  for (let i = 0; i < sorted.length; i++) {
    const use = sorted[i]!;
    // What has begun has begun, cleaned or not.
    if (use.start < (problem.begun?.at ?? 0)) continue;
    // What was over when the last cleaning before the use began is gone.
    let cleaned = Number.NEGATIVE_INFINITY;
    for (const start of starts) if (start + minutes <= use.start && start > cleaned) cleaned = start;
    let isSoiled = false;
    for (let k = 0; k < i && !isSoiled; k++) {
      const last = sorted[k]!;
      isSoiled = last.end <= use.start && last.end > cleaned && soils(last, use);
    }
    if (isSoiled) starts.push(lastStart(outages, use.start, minutes));
  }
  return starts.slice(begun.length);
}

/** Cleaning tasks of all units, in order of time. */
export function cleaningTasks(
  problem: Problem,
  batches: readonly MadeBatch[],
  scrapped: readonly ScrappedLoad[],
  clock: Clock,
): Task[] {
  const begun = (problem.begun?.cleans ?? []).map(({ task }) => task);
  const before = Math.max(0, ...begun.map(({ id }) => Number(/^clean-(\d+)$/.exec(id)?.[1] ?? 0)));

  const found: { unit: string; start: number; minutes: number }[] = [];
  for (const [unit, uses] of usesByUnit(problem, batches, scrapped)) {
    const minutes = cleaningMinutes(problem, unit);
    if (minutes === 0) continue;
    for (const start of cleanings(problem, unit, uses, minutes)) found.push({ unit, start, minutes });
  }
  found.sort((a, b) => a.start - b.start || (a.unit < b.unit ? -1 : 1));
  const ahead = found.map(({ unit, start, minutes }, i): Task => {
    const site = unit.split("/")[0]!;
    return {
      id: `clean-${before + i + 1}`,
      does: "clean",
      site,
      unit,
      start: clock(start, site),
      end: clock(start + minutes, site),
    };
  });
  return [...begun, ...ahead];
}
