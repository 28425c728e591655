import { type RepairResult, repair as repairDay } from "../../solver/index.js";
import { BUDGET_PROPERTIES, type Budget, isByTries, secondsOf, seedOf } from "./budget.js";
import { operation } from "./operation.js";

function isWorse(a: RepairResult, b: RepairResult): boolean {
  if (a.breaches.length !== b.breaches.length) return a.breaches.length > b.breaches.length;
  return totalWithMoves(a) > totalWithMoves(b);
}

/** Cost of the timetable, and what its moves are worth at the usual price: repairs of several lanes are compared by both. */
function totalWithMoves({ timetable, movesCost }: RepairResult): number {
  return timetable.cost.total + movesCost;
}

/** Repairs the timetable in force. Several lanes search with seeds of their own, and the best repair is taken. */
export const repair = operation<Budget, RepairResult>({
  name: "repair",
  summary: "repair the timetable in force after what has happened",
  about:
    "Keeps what has begun and what is locked or held, and moves the rest as little as pays: the day's happenings say what has happened and at which instant things stand so. Answers with the timetable, the list of changes by station, and a second choice when a quite different one exists. When the timetable in force still holds it is given back as it is.",
  isLong: true,
  needs: ["timetable"],
  request: { type: "object", additionalProperties: false, properties: BUDGET_PROPERTIES },
  response: {
    type: "object",
    required: ["timetable", "breaches", "changes", "movesCost", "firstPlanMs", "elapsedMs", "iterations"],
    properties: {
      timetable: { $ref: "timetable.schema.json" },
      breaches: {
        type: "array",
        maxItems: 0,
        description: "Always empty: a timetable that breaks a rule is not given out.",
      },
      changes: { $ref: "changes.schema.json" },
      second: {
        type: "object",
        required: ["for", "timetable", "changes"],
        properties: {
          for: { enum: ["fewer-moves", "less-late"] },
          timetable: { $ref: "timetable.schema.json" },
          changes: { $ref: "changes.schema.json" },
        },
      },
      movesCost: { type: "number", description: "What the moves cost in the search, in the currency of the settings." },
      firstPlanMs: { type: "number", description: "Until the first conflict-free plan." },
      elapsedMs: { type: "number" },
      iterations: { type: "integer" },
    },
  },
  run: (day, request, context) =>
    repairDay(day, {
      ...request,
      now: context.now,
      lp: context.lp,
      onProgress: context.onProgress,
      shouldStop: context.shouldStop,
    }),
  split: (day, request, lanes) =>
    isByTries(day, request)
      ? [request]
      : Array.from({ length: Math.max(1, lanes) }, (_, i) => ({
          ...request,
          seed: (seedOf(day, request) + i) % 2 ** 32,
        })),
  gather: (_day, _request, responses) => {
    const best = responses.reduce((a, b) => (isWorse(a, b) ? b : a));
    const second = best.second ?? responses.find((response) => response.second)?.second;
    return second ? { ...best, second } : best;
  },
  secondsOf,
  timetableOf: (day, response) => ({ day, timetable: response.timetable }),
});
