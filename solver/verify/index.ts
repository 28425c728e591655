import type { DayDocuments, Timetable } from "../../schemas/index.js";
import { type Breach, Report, type Rule } from "./breach.js";
import { checkCost } from "./cost.js";
import { type Facts, gatherFacts, isFact } from "./facts.js";
import { checkForm } from "./form.js";
import { checkCoverage, checkOutcomes } from "./r01-coverage.js";
import { checkLosses } from "./r01-losses.js";
import { checkDough } from "./r02-dough.js";
import { checkMixers } from "./r03-mixer.js";
import { checkShelves } from "./r04-shelves.js";
import { checkChilling, checkFermentation } from "./r05-chilling.js";
import { checkWaits } from "./r06-waits.js";
import { checkCrew } from "./r07-crew.js";
import { checkKettles } from "./r08-kettle.js";
import { checkStocks } from "./r09-stocks.js";
import { checkDecks } from "./r10-decks.js";
import { checkOutages, checkSmaller } from "./r11-outages.js";
import { checkVans } from "./r12-vans.js";
import { checkFreshness } from "./r13-due.js";
import { checkBegun, checkFrozen, checkHeld } from "./r14-frozen.js";
import { checkWaiting } from "./r14-waiting.js";
import { checkHolding } from "./r16-holding.js";

export type { Breach, Rule } from "./breach.js";

/** One check per rule; R15 (allergens) is part of the stations where cleaning happens: R3, R7 and R8's files. */
const CHECKS = [
  checkForm,
  checkCoverage,
  checkLosses,
  checkOutcomes,
  checkDough,
  checkMixers,
  checkShelves,
  checkChilling,
  checkFermentation,
  checkWaits,
  checkCrew,
  checkKettles,
  checkStocks,
  checkDecks,
  checkOutages,
  checkSmaller,
  checkVans,
  checkFreshness,
  checkFrozen,
  checkBegun,
  checkHeld,
  checkWaiting,
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
  if (facts.at === null) return report.breaches;
  // What has begun is a fact: a rule is broken only by what is still to be decided (R14 holds the facts themselves). R11 says who must go.
  return report.breaches.filter(
    ({ rule, code, tasks }) =>
      tasks.length === 0 ||
      JUDGES_FACTS.has(rule) ||
      !tasks.every(
        (id) =>
          isFact(facts, id) ||
          isScrapped(facts, id) ||
          isBegunCleaning(facts, id) ||
          (OF_STARTS.has(code) && facts.begun.has(id)),
      ),
  );
}

/** About when and where tasks start, not when they end: those that have begun are where they are, even if one was done or begun sooner than planned. */
const OF_STARTS: ReadonlySet<string> = new Set(["position-shared", "too-heavy", "wait", "gap"]);

/** A cleaning at which a unit turns out to have been used is what the plan said, not what was done. */
function isBegunCleaning({ tasksById, at }: Facts, id: string): boolean {
  const fact = tasksById.get(id);
  return fact !== undefined && fact.task.does === "clean" && at !== null && fact.start < at;
}

const JUDGES_FACTS: ReadonlySet<Rule> = new Set<Rule>(["form", "R1", "R11", "R14"]);

function isScrapped(facts: Facts, id: string): boolean {
  const load = facts.tasksById.get(id)?.task.load;
  return load !== undefined && facts.loadsById.get(load)?.load.scrapped !== undefined;
}
