import type { Drift, Replay, Timetable } from "../../schemas/index.js";
import { drift as driftOf, type ReplayOptions, replay as replayOf } from "../../solver/index.js";
import { operation } from "./operation.js";
import { timetableOf } from "./timetable-of.js";

export const replay = operation<ReplayOptions & { timetable?: Timetable }, Replay>({
  name: "replay",
  summary: "how sure a timetable is when durations vary",
  about:
    "Plays a timetable (by default the one in force) many times with durations drawn around the planned ones and a stated dispatch rule: the on-time chance of each order with its interval, the tasks that most often make orders late, and buffers.",
  isLong: false,
  request: {
    type: "object",
    additionalProperties: false,
    properties: {
      timetable: { $ref: "timetable.schema.json" },
      runs: { type: "integer", minimum: 1, maximum: 20_000, description: "Default 1 000." },
      seed: { type: "integer", minimum: 0, maximum: 4_294_967_295, description: "Default 1." },
    },
  },
  response: { $ref: "replay.schema.json" },
  run: (day, { timetable, ...options }) => replayOf(day, timetableOf(day, timetable), options),
});

export const drift = operation<Record<string, never>, Drift>({
  name: "drift",
  summary: "does the timetable in force still hold?",
  about:
    "Pushes real starts and finishes (the day's happenings) through the timetable in force: how each order's slack has shrunk, which waits become too long, and whether a repair is worth it.",
  isLong: false,
  needs: ["timetable"],
  asItStands: true,
  request: { type: "object", additionalProperties: false, properties: {} },
  response: { $ref: "drift.schema.json" },
  run: (day) => {
    timetableOf(day);
    return driftOf(day);
  },
});
