import type { DayDocuments, Timetable } from "../../schemas/index.js";
import { type Breach, Report } from "./breach.js";
import { checkCost } from "./cost.js";
import { gatherFacts } from "./facts.js";
import { checkForm } from "./form.js";
import { checkCoverage, checkOutcomes } from "./r01-coverage.js";
import { checkDough } from "./r02-dough.js";
import { checkMixers } from "./r03-mixer.js";
import { checkShelves } from "./r04-shelves.js";
import { checkChilling } from "./r05-chilling.js";
import { checkWaits } from "./r06-waits.js";
import { checkCrew } from "./r07-crew.js";
import { checkKettles } from "./r08-kettle.js";
import { checkStocks } from "./r09-stocks.js";
import { checkDecks } from "./r10-decks.js";
import { checkOutages } from "./r11-outages.js";
import { checkVans } from "./r12-vans.js";
import { checkFreshness } from "./r13-due.js";
import { checkFrozen } from "./r14-frozen.js";
import { checkHolding } from "./r16-holding.js";

export type { Breach, Rule } from "./breach.js";

/** One check per rule; R15 (allergens) is part of the stations where cleaning happens: R3, R7 and R8's files. */
const CHECKS = [
  checkForm,
  checkCoverage,
  checkOutcomes,
  checkDough,
  checkMixers,
  checkShelves,
  checkChilling,
  checkWaits,
  checkCrew,
  checkKettles,
  checkStocks,
  checkDecks,
  checkOutages,
  checkVans,
  checkFreshness,
  checkFrozen,
  checkHolding,
  checkCost,
];

/**
 * Every breach of the rules R1-R16 in a timetable of a day, worked out from the raw documents alone; empty means that the timetable is sound.
 * It shares no code with the search. Never throws on schema-valid documents.
 */
export function verify(day: DayDocuments, timetable: Timetable): Breach[] {
  const report = new Report();
  const facts = gatherFacts(day, timetable, report);
  for (const check of CHECKS) check(facts);
  return report.breaches;
}
