import type { Happening, Happenings } from "../../schemas/index.js";
import { type HoldResult, hold as holdTasks, type RepairResult } from "../../solver/index.js";
import { BUDGET_PROPERTIES, type Budget, secondsOf } from "./budget.js";
import { operation } from "./operation.js";
import { repair } from "./repair.js";

export interface HoldRequest extends Budget {
  readonly tasks?: readonly { readonly task: string; readonly start: string; readonly unit?: string }[];
}

/** With the happenings that the timetable is sound for: the wishes are among them. */
type HoldResponse = Exclude<HoldResult, RepairResult> | (RepairResult & { readonly happenings: Happenings });

const HELD = {
  ...repair.response,
  required: [...(repair.response.required as string[]), "happenings"],
  properties: { ...(repair.response.properties as object), happenings: { $ref: "happenings.schema.json" } },
};

/** Moves or pins tasks by hand and repairs the rest around them. */
export const hold = operation<HoldRequest, HoldResponse>({
  name: "hold",
  summary: "move or pin tasks by hand; the rest is repaired around them",
  about:
    "The tasks given here, and those that the day's happenings hold, start when and where the planner says; everything else is repaired around them. A wish that breaks a rule whatever is moved out of its way is refused with the rule and the nearest times that work.",
  isLong: true,
  needs: ["timetable"],
  asItStands: true,
  request: {
    type: "object",
    additionalProperties: false,
    properties: {
      ...BUDGET_PROPERTIES,
      tasks: {
        type: "array",
        maxItems: 100,
        items: {
          type: "object",
          additionalProperties: false,
          required: ["task", "start"],
          properties: {
            task: { $ref: "timetable.schema.json#/$defs/TaskId" },
            start: { $ref: "common.schema.json#/$defs/When" },
            unit: { $ref: "common.schema.json#/$defs/UnitRef" },
          },
        },
      },
    },
  },
  response: {
    oneOf: [
      HELD,
      {
        type: "object",
        required: ["refusals"],
        properties: {
          refusals: {
            type: "array",
            minItems: 1,
            items: {
              type: "object",
              required: ["task", "rule", "message", "nearest"],
              properties: {
                task: { type: "string" },
                rule: { type: "string" },
                message: { type: "string" },
                nearest: { type: "array", items: { $ref: "common.schema.json#/$defs/Instant" } },
              },
            },
          },
        },
      },
    ],
  },
  run: (day, { tasks = [], ...request }, context) => {
    const holds = tasks.map((wish): Happening => ({ kind: "hold", ...wish }));
    const { happenings } = day;
    const at = happenings.at ?? day.settings.window.from;
    const wished = new Set(tasks.map(({ task }) => task));
    // A new wish for a task takes the place of an older one.
    const before = happenings.happenings.filter((one) => one.kind !== "hold" || !wished.has(one.task));
    const told = { ...happenings, at, happenings: [...before, ...holds] };
    const result = holdTasks(
      { ...day, happenings: told },
      {
        ...request,
        ...(tasks.length > 0 ? { wished } : {}),
        now: context.now,
        lp: context.lp,
        onProgress: context.onProgress,
        shouldStop: context.shouldStop,
      },
    );
    return "refusals" in result ? result : { ...result, happenings: result.happenings ?? told };
  },
  secondsOf,
  timetableOf: (day, response) =>
    "timetable" in response
      ? { day: { ...day, happenings: response.happenings }, timetable: response.timetable }
      : undefined,
});
