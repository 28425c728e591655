import type { Balance } from "../../schemas/index.js";
import { type BalanceRequest, balance as balanceOf } from "../../solver/index.js";
import { BUDGET_PROPERTIES } from "./budget.js";
import { operation } from "./operation.js";

const SECONDS = 10;

export const balance = operation<BalanceRequest, Balance>({
  name: "balance",
  summary: "say who makes what and what rides where",
  about:
    "Balances the sites: a linear program over all sites, hours, stations and van runs decides who makes what, a timetable is drawn up after it and verified, and what a site could not follow is fed back. Wishes can be made; the cost of each is shown.",
  isLong: true,
  request: {
    type: "object",
    additionalProperties: false,
    properties: {
      wishes: { type: "array", items: { $ref: "balance.schema.json#/$defs/Wish" }, maxItems: 50 },
      ...BUDGET_PROPERTIES,
    },
  },
  response: { $ref: "balance.schema.json" },
  run: (day, request, context) => balanceOf(day, request, context),
  secondsOf: (_day, request) => request.seconds ?? SECONDS,
  timetableOf: (day, response) => ({ day, timetable: response.timetable }),
});
