import type { Happenings } from "../../schemas/index.js";
import { operation } from "./operation.js";

/** What repair, hold and drift of a stored day go by. */
export const standing = operation<Record<string, never>, { happenings: Happenings }>({
  name: "standing",
  summary: "how things stand as told",
  about:
    "The day's happenings with what the stations marked: real starts and finishes, work that is past its end and not marked finished, troubles; and the instant at which things stand so (now, while the day lasts). What a planner wrote of the same thing comes first. Repair, hold and drift of a stored day go by this.",
  isLong: false,
  needs: ["timetable"],
  asItStands: true,
  request: { type: "object", additionalProperties: false, properties: {} },
  response: {
    type: "object",
    required: ["happenings"],
    properties: { happenings: { $ref: "happenings.schema.json" } },
  },
  run: ({ happenings }) => ({ happenings }),
});
