import type { DayDocuments, Timetable } from "../../schemas/index.js";
import { cautionsText } from "./cautions.js";
import { siteText } from "./stations.js";
import { type DrawFigures, summaryText, wantingText } from "./summary.js";

export { balanceText } from "./balance.js";
export { changesText, refusalText, secondText } from "./changes.js";
export { comparisonText } from "./comparison.js";
export { headroomText, remediesText } from "./headroom.js";
export { issuesText } from "./issues.js";
export { breachText, type DrawFigures, summaryText, wantingText } from "./summary.js";

export { driftText, replayText } from "./sureness.js";

/** The whole timetable as text: summary, what is late or short, every site by station, cautions. */
export function timetableText(day: DayDocuments, timetable: Timetable, figures?: DrawFigures): string {
  const parts = [
    summaryText(day, timetable, figures),
    wantingText(day, timetable),
    ...day.network.sites.map((site) => siteText(day, timetable, site)),
    cautionsText(day, timetable),
  ];
  return `${parts.filter((part) => part !== "").join("\n\n")}\n`;
}
