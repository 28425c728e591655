import type { DayDocuments, Settings } from "../../schemas/index.js";

/** The part of a request that limits a search. */
export interface Budget {
  readonly seconds?: number;
  readonly iterations?: number;
  readonly seed?: number;
}

export const BUDGET_PROPERTIES = {
  seconds: {
    type: "number",
    minimum: 0,
    maximum: 86_400,
    description: "Seconds of search. Default: the day's settings, else 5.",
  },
  iterations: {
    type: "integer",
    minimum: 0,
    maximum: 1_000_000_000,
    description: "Tries instead of seconds: the same day, seed and tries give the same answer.",
  },
  seed: {
    type: "integer",
    minimum: 0,
    maximum: 4_294_967_295,
    description: "Another course of the search. Default: the day's settings, else 1.",
  },
} as const;

const DEFAULT_SECONDS = 5;

/** Seconds that a search with this budget takes; tries are counted as the seconds of the default. */
export function secondsOf({ search = {} }: Settings, budget: Budget): number {
  if (budget.seconds !== undefined) return budget.seconds;
  const iterations = budget.iterations ?? search.iterations;
  if (iterations !== undefined) return iterations / TRIES_PER_SECOND;
  return search.seconds ?? DEFAULT_SECONDS;
}

/** Low on purpose: what a slow machine does with a big day. */
const TRIES_PER_SECOND = 500;

/** With a budget of tries one search runs, and its answer is always the same. */
export function isByTries(day: DayDocuments, budget: Budget): boolean {
  return (
    budget.iterations !== undefined || (budget.seconds === undefined && day.settings.search?.iterations !== undefined)
  );
}

export function seedOf(day: DayDocuments, budget: Budget): number {
  return budget.seed ?? day.settings.search?.seed ?? 1;
}
