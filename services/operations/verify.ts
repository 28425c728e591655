import type { Timetable } from "../../schemas/index.js";
import { type Breach, verify as breachesOf } from "../../solver/index.js";
import { operation } from "./operation.js";

/** Breaches of a timetable, as every answer shows them. */
export const BREACHES = {
  type: "array",
  items: {
    type: "object",
    required: ["rule", "code", "message", "tasks"],
    properties: {
      rule: { type: "string", pattern: "^(R[0-9]+|form)$" },
      code: { type: "string" },
      message: { type: "string" },
      tasks: { type: "array", items: { type: "string" } },
      unit: { type: "string" },
      from: { type: "string" },
      to: { type: "string" },
    },
  },
} as const;

export const verify = operation<{ timetable: Timetable }, { breaches: readonly Breach[] }>({
  name: "verify",
  summary: "check a timetable against the rules, however it was made",
  about: "Checks a timetable against the day's documents and the rules R1 to R16, and lists every breach.",
  isLong: false,
  request: {
    type: "object",
    additionalProperties: false,
    required: ["timetable"],
    properties: { timetable: { $ref: "timetable.schema.json" } },
  },
  response: { type: "object", required: ["breaches"], properties: { breaches: BREACHES } },
  run: (day, request) => ({ breaches: breachesOf(day, request.timetable) }),
});
