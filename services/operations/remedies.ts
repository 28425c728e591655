import type { RemedyReport } from "../../schemas/index.js";
import { joinRemedies, type RemedyRequest, remedies as remediesFor } from "../../solver/index.js";
import { operation } from "./operation.js";

const SECONDS = 60;

export const remedies = operation<RemedyRequest, RemedyReport>({
  name: "remedies",
  summary: "say what would make a demand fit",
  about:
    "Changes that a planner can make, chosen by what is wanting, each drawn up anew and verified, ranked by effect and stated cost; pairs where one is not enough. A day that is under way is asked about as if it were planned anew: with what was told of units, people, orders and vans, without what has begun or is pinned.",
  isLong: true,
  request: {
    type: "object",
    additionalProperties: false,
    properties: {
      grow: { $ref: "scenario.schema.json#/$defs/LineChoice" },
      multiple: {
        type: "number",
        exclusiveMinimum: 0,
        maximum: 20,
        description: "Of the orders, that is to fit. Default 1.",
      },
      seconds: { type: "number", minimum: 1, maximum: 86_400, description: "Default 60." },
      seed: { type: "integer", minimum: 0, maximum: 4_294_967_295 },
      lane: { type: "integer", minimum: 0, maximum: 64 },
      lanes: { type: "integer", minimum: 1, maximum: 64 },
    },
  },
  response: { $ref: "headroom.schema.json#/$defs/RemedyReport" },
  run: (day, request, context) => remediesFor(day, request, context),
  split: (_day, request, count) => {
    const lanes = Math.max(1, count);
    return Array.from({ length: lanes }, (_, lane) => ({ ...request, lane, lanes }));
  },
  gather: (_day, _request, responses) => joinRemedies(responses),
  secondsOf: (_day, request) => request.seconds ?? SECONDS,
});
