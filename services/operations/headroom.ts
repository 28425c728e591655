import type { Headroom } from "../../schemas/index.js";
import { type HeadroomRequest, headroom as headroomOf, joinHeadroom } from "../../solver/index.js";
import { operation } from "./operation.js";

const SECONDS = 20;

export const headroom = operation<HeadroomRequest, Headroom>({
  name: "headroom",
  summary: "say how much of the demand fits, and what gives out first",
  about:
    "The greatest multiple of the orders for which a verified timetable has every line in full and on time, the multiple that certainly does not fit, and what gives out first. A day that is under way is asked about as if it were planned anew: with what was told of units, people, orders and vans, without what has begun or is pinned.",
  isLong: true,
  request: {
    type: "object",
    additionalProperties: false,
    properties: {
      grow: { $ref: "scenario.schema.json#/$defs/LineChoice", description: "Lines that are multiplied. Default: all." },
      to: {
        type: "number",
        exclusiveMinimum: 0,
        maximum: 20,
        description: "No greater multiple is asked about. Default 3.",
      },
      seconds: { type: "number", minimum: 1, maximum: 86_400, description: "Default 20." },
      seed: { type: "integer", minimum: 0, maximum: 4_294_967_295 },
      lane: { type: "integer", minimum: 0, maximum: 64, description: "Lanes ask about different multiples." },
    },
  },
  response: { $ref: "headroom.schema.json" },
  run: (day, request, context) => headroomOf(day, request, context),
  split: (_day, request, lanes) => Array.from({ length: Math.max(1, lanes) }, (_, lane) => ({ ...request, lane })),
  gather: (_day, _request, responses) => joinHeadroom(responses),
  secondsOf: (_day, request) => request.seconds ?? SECONDS,
});
