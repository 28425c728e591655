import { createRng } from "../../../solver/rng.js";
import { anneal } from "../../../solver/search/anneal.js";
import { construct } from "../../../solver/search/construct.js";
import { Draft } from "../../../solver/search/draft.js";
import { improve } from "../../../solver/search/improve.js";
import { copyPlan, type PlanCopy, rebuild } from "../../../solver/search/plan.js";
import { checkShop, type Placed, placedJobs, type Shop, shopModel } from "./shop.js";

/** How far the budget is used up, 0..1, after so many tries. */
export type Budget = (tries: number) => number;

export interface ShopResult {
  /** Makespan, or total tardiness where the jobs have due times. */
  readonly value: number;
  readonly tries: number;
}

/** The longest that any order of work could take, roughly: a horizon that is never short. */
function longest(shop: Shop): number {
  const byMachine = new Array<number>(shop.machines).fill(0);
  let longestJob = 0;
  for (const { operations } of shop.jobs) {
    let job = 0;
    for (const alternatives of operations) {
      const { machine, minutes } = alternatives.reduce((a, b) => (b.minutes < a.minutes ? b : a));
      byMachine[machine] = byMachine[machine]! + minutes;
      job += minutes;
    }
    longestJob = Math.max(longestJob, job);
  }
  const setup = Math.max(0, ...(shop.setups ?? []).flat(2)) * shop.jobs.length;
  return 2 * (Math.max(...byMachine) + longestJob) + setup;
}

function checked(shop: Shop, placed: readonly (Placed | null)[]): readonly Placed[] {
  const wrong = checkShop(shop, placed);
  if (wrong.length > 0) throw new Error(`a plan breaks the set's rules: ${wrong.slice(0, 3).join("; ")}`);
  return placed as readonly Placed[];
}

const end = (job: Placed): number => job.at(-1)!.end;

/** Least total tardiness: the search's own kind of cost. */
function leastTardiness(shop: Shop, used: Budget, seed: number): ShopResult {
  const model = shopModel(shop, 0, longest(shop));
  const draft = new Draft(model, createRng(seed));
  construct(draft);
  const { best, iterations } = improve(draft, { progress: used });
  const placed = checked(shop, placedJobs(shop, model, best));
  const value = placed.reduce((sum, job, j) => sum + Math.max(0, end(job) - shop.jobs[j]!.due!), 0);
  return { value, tries: iterations };
}

/** A deadline is given up after this share of the time that is left. */
const SHARE = 0.2;

/**
 * Least makespan: the search knows no makespan, so it is given deadlines, each some steps below the best so far and begun from its plan; the steps
 * get smaller when a deadline is not met.
 */
function leastMakespan(shop: Shop, used: Budget, seed: number): ShopResult {
  const horizon = longest(shop);
  const rng = createRng(seed);
  const first = shopModel(shop, 0, horizon);
  const draft = new Draft(first, rng);
  construct(draft);
  const madeBy = (plan: PlanCopy): number => Math.max(...plan.finish.map((finish) => (finish < 0 ? horizon : finish)));
  let plan = copyPlan(draft.state);
  let best = madeBy(plan);
  let step = Math.max(1, Math.round(best * 0.08));
  let tries = 0;
  while (used(tries) < 1) {
    const deadline = best - step;
    const model = shopModel(shop, deadline, horizon);
    const next = new Draft(model, rng, rebuild(model, plan));
    const before = tries;
    const from = used(before);
    const share = Math.max(1e-3, (1 - from) * SHARE);
    let isMet = false;
    const { best: found, iterations } = anneal(next, {
      progress: (i) => (isMet ? 1 : Math.min(1, (used(before + i) - from) / share)),
      onBetter: (better) => {
        isMet = madeBy(better) <= deadline;
      },
      hot: 6,
      cold: 0.1,
      shortShare: 1,
    });
    tries += iterations;
    const reached = madeBy(found);
    if (reached < best) {
      best = reached;
      plan = found;
    }
    if (!isMet) step = Math.max(1, Math.floor(step / 2));
  }
  const placed = checked(shop, placedJobs(shop, first, plan));
  return { value: Math.max(...placed.map(end)), tries };
}

/** The best plan of the search in the budget, checked by the set's own rules. */
export function solveShop(shop: Shop, used: Budget, seed: number): ShopResult {
  const hasDues = shop.jobs.some(({ due }) => due !== undefined);
  return hasDues ? leastTardiness(shop, used, seed) : leastMakespan(shop, used, seed);
}
