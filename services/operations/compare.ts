import type { Comparison, Issue, LeftOut, Scenario, Timetable } from "../../schemas/index.js";
import { applyScenario, comparison, type DrawResult, draw, scenarioWords, sideOf } from "../../solver/index.js";
import { BUDGET_PROPERTIES, type Budget, secondsOf } from "./budget.js";
import { operation } from "./operation.js";

interface CompareRequest extends Budget {
  readonly scenarios: readonly Scenario[];
  /** Of the sides (0: the day as it is) those that this lane draws up. Default: all. */
  readonly only?: readonly number[];
}

interface CompareResponse {
  readonly comparison: Comparison;
  readonly drawn: readonly { readonly side: number; readonly timetable: Timetable }[];
}

type Day = Parameters<typeof draw>[0];

interface SideDay {
  /** 0: the day as it is; else the number of the scenario, from 1. */
  readonly side: number;
  readonly name: string;
  readonly changes: readonly string[];
  readonly day: Day;
}

/** The days to draw up, and the scenarios that do not apply, with the reason: they do not keep the others from being drawn up. */
function daysOf(day: Day, scenarios: readonly Scenario[]): { days: SideDay[]; leftOut: LeftOut[] } {
  const days: SideDay[] = [{ side: 0, name: "as it is", changes: [], day }];
  const leftOut: LeftOut[] = [];
  scenarios.forEach((scenario, i) => {
    const applied = applyScenario(day, scenario);
    if ("issues" in applied) {
      const [{ message, pointer, fix }] = applied.issues as [Issue, ...Issue[]];
      leftOut.push({ scenario: i + 1, name: scenario.name, why: `${message} ${fix} (${pointer})`.slice(0, 1000) });
    } else days.push({ side: i + 1, name: scenario.name, changes: scenarioWords(day, scenario), day: applied.day });
  });
  return { days, leftOut };
}

function join(day: Day, scenarios: readonly Scenario[], drawn: CompareResponse["drawn"]): CompareResponse {
  const base = drawn.find(({ side }) => side === 0)?.timetable;
  const { days, leftOut } = daysOf(day, scenarios);
  const sides = days.flatMap((side) => {
    const own = drawn.find((entry) => entry.side === side.side);
    return own ? [sideOf(side, side.day, own.timetable, base ?? own.timetable)] : [];
  });
  return { comparison: comparison(day.settings.name, sides, leftOut), drawn };
}

export const compare = operation<CompareRequest, CompareResponse>({
  name: "compare",
  summary: "draw up the day and what-ifs of it, side by side",
  about:
    "Draws up the day as it is and with each scenario's changes, and says side by side what is late, short, moved, and what it costs. A scenario that does not apply is named with the reason; the others are drawn up.",
  isLong: true,
  request: {
    type: "object",
    additionalProperties: false,
    required: ["scenarios"],
    properties: {
      scenarios: { type: "array", items: { $ref: "scenario.schema.json" }, minItems: 1, maxItems: 20 },
      only: { type: "array", items: { type: "integer", minimum: 0 } },
      ...BUDGET_PROPERTIES,
    },
  },
  response: {
    type: "object",
    required: ["comparison", "drawn"],
    properties: {
      comparison: { $ref: "comparison.schema.json" },
      drawn: {
        type: "array",
        items: {
          type: "object",
          required: ["side", "timetable"],
          properties: { side: { type: "integer", minimum: 0 }, timetable: { $ref: "timetable.schema.json" } },
        },
      },
    },
  },
  run: (day, { scenarios, only, ...budget }, context) => {
    const drawn = daysOf(day, scenarios).days.flatMap(({ side, day: changed, name }) => {
      if (only && !only.includes(side)) return [];
      const result: DrawResult = draw(changed, {
        ...budget,
        now: context.now,
        lp: context.lp,
        onProgress: (progress) => context.onProgress({ ...progress, phase: `${name}: ${progress.phase}` }),
        shouldStop: context.shouldStop,
      });
      if (result.breaches.length > 0)
        throw new Error(`the timetable of "${name}" breaks a rule: ${result.breaches[0]!.message}`);
      return [{ side, timetable: result.timetable }];
    });
    return join(day, scenarios, drawn);
  },
  split: (_day, request, lanes) => {
    const count = Math.min(Math.max(1, lanes), request.scenarios.length + 1);
    return Array.from({ length: count }, (_, lane) => ({
      ...request,
      only: Array.from({ length: request.scenarios.length + 1 }, (_, side) => side).filter(
        (side) => side % count === lane,
      ),
    }));
  },
  gather: (day, { scenarios }, responses) =>
    join(
      day,
      scenarios,
      responses.flatMap(({ drawn }) => drawn),
    ),
  secondsOf: (day, request) => secondsOf(day, request) * (request.scenarios.length + 1),
});
