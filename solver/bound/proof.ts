import type { Problem } from "../problem/index.js";
import { type Lowest, lowestCosts } from "../problem/lowest.js";
import { MILLS } from "../problem/site-rows.js";
import { type PlanCopy, rebuild } from "../search/plan.js";

/** A plan whose cost is as near to the bound as this (currency) is called optimal: half of the last figure that is printed. */
export const PROVEN_WITHIN = 0.005;

/** The best bound known by now (currency), undefined while there is none. */
export type BoundReader = () => number | undefined;

/** Tells whether plans of a problem meet the bound, asking no more than it must. */
export class Proof {
  private readonly read: BoundReader;
  private readonly lowest: Lowest;
  /** No plan's cost in the search's model is further above its lowest cost: what rounding a minute of heat can make (currency). */
  private readonly rounding: number;
  private asked: number | undefined;
  private askedCost = Number.NaN;
  private answer = false;

  constructor(problem: Problem, read: BoundReader) {
    this.read = read;
    this.lowest = lowestCosts(problem);
    this.rounding = (problem.model.heaters.length * problem.model.horizon) / MILLS;
  }

  get bound(): number | undefined {
    return this.read();
  }

  /** Is the plan proved to be as cheap as can be? */
  isMet(plan: PlanCopy): boolean {
    const bound = this.read();
    if (bound === undefined) return false;
    if (bound === this.asked && plan.cost === this.askedCost) return this.answer;
    this.asked = bound;
    this.askedCost = plan.cost;
    this.answer = this.isNear(plan, bound);
    return this.answer;
  }

  private isNear(plan: PlanCopy, bound: number): boolean {
    const { model, constant } = this.lowest;
    if (plan.cost / MILLS + constant - bound > this.rounding) return false;
    return rebuild(model, plan).cost / MILLS + constant - bound <= PROVEN_WITHIN;
  }
}
