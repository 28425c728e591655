import type { LpModel } from "./model.js";

export interface LpLimits {
  readonly seconds: number;
  /** HiGHS only: interior point without crossover, for bounds on large models. */
  readonly interiorPoint?: boolean;
  /** HiGHS with integers only: stop at a solution that costs no more; it is then the incumbent of a stopped result. */
  readonly target?: number;
}

/** What an engine found. An objective is given only where it may be trusted as far as the status says. */
export type LpResult =
  | {
      readonly status: "optimal";
      readonly objective: number;
      readonly columns: Float64Array;
      /** Linear models solved by HiGHS only. */
      readonly rowDuals?: Float64Array;
      readonly reducedCosts?: Float64Array;
    }
  | { readonly status: "infeasible" | "unbounded" | "infeasible-or-unbounded" }
  | {
      /** Time ran out or the engine gave up. */
      readonly status: "stopped";
      /** Feasible and whole, checked; no more is known of it. */
      readonly incumbent?: { readonly objective: number; readonly columns: Float64Array };
      /** Proven: no solution costs less. */
      readonly bound?: number;
    };

/** A solver of linear models. Throws nothing on any well-formed model. */
export interface LpEngine {
  readonly name: string;
  solve(model: LpModel, limits: LpLimits): LpResult;
}
