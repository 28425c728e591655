import type { DayDocuments, Issue } from "../../schemas/index.js";
import { checkAmounts } from "./amounts.js";
import { checkBegun } from "./begun.js";
import { type Check, Findings } from "./context.js";
import { checkHappenings } from "./happenings.js";
import { checkIds } from "./ids.js";
import { checkMakeable } from "./makeable.js";
import { checkMeasures } from "./measures.js";
import { checkNetwork } from "./network.js";
import { checkReferences } from "./references.js";
import { checkReports } from "./reports.js";
import { checkCatalogue } from "./routes.js";
import { checkTimes } from "./times.js";
import { checkTrade } from "./trade.js";

const CHECKS: readonly Check[] = [
  checkIds,
  checkReferences,
  checkNetwork,
  checkCatalogue,
  checkTimes,
  checkHappenings,
  checkBegun,
  checkReports,
  checkTrade,
  checkMeasures,
  checkAmounts,
  checkMakeable,
];

/** Everything that is wrong with a day beyond its schemas, all at once. The documents must each pass their schema. */
export function checkDay(day: DayDocuments): Issue[] {
  const findings = new Findings();
  for (const check of CHECKS) check(day, findings);
  return findings.issues;
}
