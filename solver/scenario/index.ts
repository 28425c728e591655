import type { DayDocuments, Issue, Scenario } from "../../schemas/index.js";
import { validateDocument } from "../../schemas/validate.js";
import { checkDay } from "../check/index.js";
import { CannotChange } from "./change.js";
import { changed } from "./kinds.js";

export { CHANGE_KINDS, changed, changeWords } from "./kinds.js";

/** The day as a scenario has it, checked like any day; or what is wrong, with pointers into the scenario or the changed documents. */
export function applyScenario(day: DayDocuments, scenario: Scenario): { day: DayDocuments } | { issues: Issue[] } {
  let current = day;
  const issues: Issue[] = [];
  scenario.changes.forEach((change, i) => {
    try {
      current = changed(current, [change]);
    } catch (error) {
      if (!(error instanceof CannotChange)) throw error;
      const pointer = `/changes/${i}/${error.field}`;
      issues.push({ code: error.code, document: "scenario", pointer, message: error.message, fix: error.fix });
    }
  });
  if (issues.length > 0) return { issues };
  for (const name of ["network", "catalogue", "orders", "happenings", "settings"] as const)
    issues.push(...validateDocument(name, current[name]));
  if (issues.length === 0) issues.push(...checkDay(current));
  return issues.length > 0 ? { issues } : { day: current };
}
