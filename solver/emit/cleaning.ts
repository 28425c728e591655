import type { Product, Step, Task } from "../../schemas/index.js";
import { type OutageTimes, outagesOf } from "../problem/day-index.js";
import type { Problem } from "../problem/index.js";
import { allergensOfDough, allergensOfProduct, needsClean } from "../trade/dough.js";
import { type Clock, type MadeBatch, type ScrappedLoad, takeOn } from "./context.js";

interface Use {
  readonly start: number;
  readonly end: number;
  readonly allergens: ReadonlySet<string>;
  readonly lyePercent: number;
}

function addUse(uses: Map<string, Use[]>, unit: string, use: Use): void {
  const own = uses.get(unit);
  if (own) own.push(use);
  else uses.set(unit, [use]);
}

/** What is done when on every mixer, bench and kettle, by unit. */
function usesByUnit(
  problem: Problem,
  batches: readonly MadeBatch[],
  scrapped: readonly ScrappedLoad[],
): Map<string, Use[]> {
  const uses = new Map<string, Use[]>();
  const { index, prepared } = problem;
  const { catalogue } = index.day;
  for (const batch of batches) {
    const dough = index.doughs.get(problem.batches[batch.number]!.dough)!;
    const doughAllergens = allergensOfDough(catalogue, dough);
    addUse(uses, `${batch.site}/${batch.mixer}`, {
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
        addUse(uses, prepared.book.meanings[take.row]!.unit!, {
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
    const step = boilOf(product);
    for (const { task, start, end } of tasks) {
      if (task.unit === undefined || task.does === "bake") continue;
      const isBoil = task.does === "boil";
      addUse(uses, task.unit, {
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

/** Of whichever route is the first that has one. */
function boilOf({ routes }: Product): Step | undefined {
  for (const { steps } of routes) for (const step of steps) if (step.does === "boil") return step;
  return undefined;
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

/** Remembers whether one use leaves what another may not touch: asked for every pair on a unit, and of few kinds. */
class Soiling {
  private readonly known = new Map<ReadonlySet<string>, Map<ReadonlySet<string>, boolean>>();

  soils(last: Use, next: Use): boolean {
    if (last.lyePercent !== next.lyePercent) return true;
    if (last.allergens === next.allergens) return false;
    let ofLast = this.known.get(last.allergens);
    if (!ofLast) {
      ofLast = new Map();
      this.known.set(last.allergens, ofLast);
    }
    let soils = ofLast.get(next.allergens);
    if (soils === undefined) {
      soils = needsClean(last.allergens, next.allergens);
      ofLast.set(next.allergens, soils);
    }
    return soils;
  }
}

function inOrder(a: Use, b: Use): number {
  return a.start - b.start || a.end - b.end;
}

function areAlike(uses: readonly Use[]): boolean {
  for (const { allergens, lyePercent } of uses)
    if (allergens !== uses[0]!.allergens || lyePercent !== uses[0]!.lyePercent) return false;
  return true;
}

function lastFirst(a: OutageTimes, b: OutageTimes): number {
  return b.from - a.from;
}

/** When the cleanings of a unit begin that have begun. */
function begunStarts({ begun }: Problem, unit: string, minutes: number): number[] {
  const starts: number[] = [];
  for (const clean of begun?.cleans ?? [])
    if (clean.unit === unit && clean.end - clean.start >= minutes) starts.push(clean.start);
  return starts;
}

/** When a unit is cleaned: just before the first use that may not touch what was left, clear of outages. */
function cleanings(problem: Problem, unit: string, uses: Use[], minutes: number, soiling: Soiling): number[] {
  const starts: number[] = [];
  if (areAlike(uses)) return starts;
  const begun = begunStarts(problem, unit, minutes);
  const outages = outagesOf(problem.index, unit).sort(lastFirst);
  uses.sort(inOrder);
  const now = problem.begun?.at ?? 0;
  for (let i = 0; i < uses.length; i++) {
    const use = uses[i]!;
    // What has begun has begun, cleaned or not.
    if (use.start < now) continue;
    // What was over when the last cleaning before the use began is gone.
    const cleaned = Math.max(lastBy(begun, use.start - minutes), lastBy(starts, use.start - minutes));
    if (isSoiled(uses, i, cleaned, soiling)) starts.push(lastStart(outages, use.start, minutes));
  }
  return starts;
}

/** The last of some minutes that is not after another. */
function lastBy(minutes: readonly number[], by: number): number {
  let last = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < minutes.length; i++) if (minutes[i]! <= by && minutes[i]! > last) last = minutes[i]!;
  return last;
}

/** Has a use before the i-th, that was over by then but not by the last cleaning, left something? */
function isSoiled(uses: readonly Use[], i: number, cleaned: number, soiling: Soiling): boolean {
  const use = uses[i]!;
  for (let k = 0; k < i; k++) {
    const last = uses[k]!;
    if (last.end <= use.start && last.end > cleaned && soiling.soils(last, use)) return true;
  }
  return false;
}

interface Clean {
  readonly unit: string;
  readonly start: number;
  readonly minutes: number;
}

function byStart(a: Clean, b: Clean): number {
  return a.start - b.start || (a.unit < b.unit ? -1 : 1);
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

  const found: Clean[] = [];
  const soiling = new Soiling();
  for (const [unit, uses] of usesByUnit(problem, batches, scrapped)) {
    const minutes = cleaningMinutes(problem, unit);
    if (minutes === 0) continue;
    for (const start of cleanings(problem, unit, uses, minutes, soiling)) found.push({ unit, start, minutes });
  }
  found.sort(byStart);
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
