import type { DayDocuments, Settings } from "../../schemas/index.js";
import { isQuiteDifferent, type RepairResult, repair as repairDay, withRemedies } from "../../solver/index.js";
import { BUDGET_PROPERTIES, type Budget, isByTries, secondsOf, seedOf } from "./budget.js";
import { operation, type RunContext } from "./operation.js";

/** What a repair may be asked. */
interface RepairRequest extends Budget {
  readonly remedySeconds?: number;
}

/** Seconds for remedies, over those of the repair, when orders are late or short; with a budget in tries so many tries each. */
const REMEDY_SECONDS = 3;

/** The repair, and for orders that it leaves late or short what would help them. */
function mended(day: DayDocuments, { remedySeconds, ...budget }: RepairRequest, context: RunContext): RepairResult {
  const { now, lp, onProgress, shouldStop } = context;
  const started = now();
  const result = repairDay(day, { ...budget, now, lp, onProgress, shouldStop });
  if (result.breaches.length > 0 || remedySeconds === 0) return result;
  const iterations = isByTries(day, budget) ? (budget.iterations ?? day.settings.search?.iterations) : undefined;
  const limits = {
    ...(iterations === undefined ? { seconds: remedySeconds ?? REMEDY_SECONDS } : { iterations }),
    seed: seedOf(day, budget),
  };
  const changes = withRemedies(day, result, { ...limits, now, lp, onProgress, shouldStop }, repairDay);
  return { ...result, changes, elapsedMs: now() - started };
}

/** Seconds that a repair takes with its remedies. */
function allSeconds(settings: Settings, request: RepairRequest): number {
  return secondsOf(settings, request) + (request.remedySeconds ?? REMEDY_SECONDS);
}

function isWorse(a: RepairResult, b: RepairResult): boolean {
  if (a.breaches.length !== b.breaches.length) return a.breaches.length > b.breaches.length;
  return totalWithMoves(a) > totalWithMoves(b);
}

/** Cost of the timetable, and what its moves are worth at the usual price: repairs of several lanes are compared by both. */
function totalWithMoves({ timetable, movesCost }: RepairResult): number {
  return timetable.cost.total + movesCost;
}

/** Repairs the timetable in force. Several lanes search with seeds of their own, and the best repair is taken. */
export const repair = operation<RepairRequest, RepairResult>({
  name: "repair",
  summary: "repair the timetable in force after what has happened",
  about:
    "Keeps what has begun and what is locked or held, and moves the rest as little as pays: the day's happenings say what has happened and at which instant things stand so. Answers with the timetable, the list of changes by station, a second choice when a quite different one exists, and for each order that is left late or short the cheapest change that helps it, for which the morning was repaired again. When the timetable in force still holds it is given back as it is. A hold or lock that what happened has made impossible is given up and named in the list of changes.",
  isLong: true,
  needs: ["timetable"],
  asItStands: true,
  request: {
    type: "object",
    additionalProperties: false,
    properties: {
      ...BUDGET_PROPERTIES,
      remedySeconds: {
        type: "number",
        minimum: 0,
        maximum: 3600,
        description: "Seconds more for what would help orders that are left late or short. Default 3; 0: not asked.",
      },
    },
  },
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
      happenings: {
        $ref: "happenings.schema.json",
        description: "What the timetable is sound with, where a hold or lock had to be given up; put in force with it.",
      },
      movesCost: { type: "number", description: "What the moves cost in the search, in the currency of the settings." },
      firstPlanMs: { type: "number", description: "Until the first conflict-free plan." },
      elapsedMs: { type: "number" },
      iterations: { type: "integer" },
    },
  },
  run: mended,
  split: (day, request, lanes) =>
    isByTries(day, request)
      ? [request]
      : Array.from({ length: Math.max(1, lanes) }, (_, i) => ({
          ...request,
          seed: (seedOf(day, request) + i) % 2 ** 32,
        })),
  gather: ({ inForce }, _request, responses) => {
    const best = responses.reduce((a, b) => (isWorse(a, b) ? b : a));
    // Another lane's second choice is one beside its own repair, which is not the one that is shown.
    const second = [best, ...responses]
      .flatMap((response) => response.second ?? [])
      .find((choice) => isQuiteDifferent(inForce!, best, choice));
    return second ? { ...best, second } : best;
  },
  secondsOf: allSeconds,
  timetableOf: (day, { timetable, happenings = day.happenings }) => ({ day: { ...day, happenings }, timetable }),
});
