import {
  bounds,
  cheapBound,
  type DrawOptions,
  type DrawResult,
  draw as drawDay,
  fingerprint,
  pose,
  quickBound,
} from "../../solver/index.js";
import { BUDGET_PROPERTIES, type Budget, isByTries, secondsOf, seedOf } from "./budget.js";
import { operation, type RunContext } from "./operation.js";

function isWorse(a: DrawResult, b: DrawResult): boolean {
  return (
    a.breaches.length > b.breaches.length ||
    (a.breaches.length === b.breaches.length && a.timetable.cost.total > b.timetable.cost.total)
  );
}

/** With tries the bound is the same every time, at once; with seconds the best that the thread beside the search has got by then. */
function boundOf(byTries: boolean, { lp, board }: RunContext): NonNullable<DrawOptions["bound"]> {
  if (byTries) {
    return (problem) => {
      const bound = quickBound(problem, lp);
      return () => bound;
    };
  }
  return (problem) => {
    const mark = fingerprint(problem);
    const cheap = cheapBound(problem);
    return () => board?.read(mark) ?? cheap;
  };
}

/** Draws up the day. Several lanes search with seeds of their own, large days together, and the cheapest timetable is taken. */
export const draw = operation<Budget, DrawResult>({
  name: "draw",
  summary: "draw up the day's timetable",
  about:
    "Decides who makes what, where and when, to the minute, with every shelf, deck and rack position named. The verifier checks the timetable before it is given out.",
  isLong: true,
  request: { type: "object", additionalProperties: false, properties: BUDGET_PROPERTIES },
  response: {
    type: "object",
    required: ["timetable", "breaches", "firstPlanMs", "elapsedMs", "iterations"],
    properties: {
      timetable: { $ref: "timetable.schema.json" },
      breaches: {
        type: "array",
        maxItems: 0,
        description: "Always empty: a timetable that breaks a rule is not given out.",
      },
      happenings: {
        $ref: "happenings.schema.json",
        description: "Only where a lock or hold was given up: what the timetable goes in force with.",
      },
      givenUp: {
        type: "array",
        items: { $ref: "timetable.schema.json#/$defs/TaskId" },
        description: "Tasks whose lock or hold could not be kept; missing when there are none.",
      },
      firstPlanMs: { type: "number", description: "Until the first conflict-free plan." },
      elapsedMs: { type: "number" },
      iterations: { type: "integer" },
    },
  },
  run: (day, request, context) =>
    drawDay(day, {
      ...request,
      bound: boundOf(isByTries(day, request), context),
      now: context.now,
      lp: context.lp,
      onProgress: context.onProgress,
      ...(context.onTimetable ? { onTimetable: context.onTimetable } : {}),
      shouldStop: context.shouldStop,
      ...(context.log ? { log: context.log } : {}),
    }),
  isTogether: true,
  split: (day, request, lanes) =>
    isByTries(day, request)
      ? [request]
      : Array.from({ length: Math.max(1, lanes) }, (_, i) => ({
          ...request,
          seed: (seedOf(day, request) + i) % 2 ** 32,
        })),
  gather: (_day, _request, responses) =>
    responses.reduce((best, response) => (isWorse(best, response) ? response : best)),
  beside: {
    isWanted: (day, request) => !isByTries(day, request),
    run: (day, _request, { lp, board, standBack }) => {
      const problem = pose(day, lp);
      const mark = fingerprint(problem);
      let found = 0;
      for (const bound of bounds(problem, lp)) {
        board!.write(mark, bound);
        // One program is worth a share of the searches' time; making it better is not.
        if (++found === 2) standBack?.();
      }
    },
  },
  secondsOf,
  timetableOf: (day, { timetable, happenings = day.happenings }) => ({ day: { ...day, happenings }, timetable }),
});
