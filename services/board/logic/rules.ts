import type { Rule } from "../../../solver/verify/index.js";
import { hhmm } from "./clock.js";
import { DOES, type Plan, unitName, whatOf, zoneOf } from "./plan.js";

/** What each rule is about, for people who do not know the numbers. */
export const RULE_NAMES: Readonly<Record<Rule, string>> = {
  R1: "orders and pieces",
  R2: "dough in batches",
  R3: "mixer",
  R4: "fridge shelves",
  R5: "chilling in time",
  R6: "waits between steps",
  R7: "bench and crew",
  R8: "kettle",
  R9: "pans, proofer and rack",
  R10: "oven decks",
  R11: "out of service",
  R12: "vans",
  R13: "due times and freshness",
  R14: "what stays as it was",
  R15: "allergens",
  R16: "holding limits",
  form: "the day itself",
};

/** The verifier's words with names for ids and the site's clock for UTC. */
export function plainBreach(plan: Plan, message: string, site: string): string {
  const zone = zoneOf(plan, site);
  return message
    .replace(/\b\d{4}-\d\d-\d\dT\d\d:\d\d(?::\d\d)?(?:Z|[+-]\d\d:\d\d)/g, (instant) => hhmm(zone, Date.parse(instant)))
    .replace(/\b[a-z0-9]+(?:[-/][a-z0-9]+)+\b/g, (id) => {
      const task = plan.byId.get(id);
      if (task)
        return `${DOES[task.task.does].toLowerCase()} of ${whatOf(plan, task)} (${task.load?.id ?? task.batch?.id ?? id})`;
      if (id.includes("/")) return unitName(plan, id);
      return id;
    });
}
