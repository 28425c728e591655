import type { DayDocuments, DocumentName, Site } from "../../schemas/index.js";
import { isTimeZone, resolveWhen } from "../calendar.js";
import type { Check, Findings } from "./context.js";

const LONGEST_WINDOW_MINUTES = 96 * 60;

/** A `When` as an epoch minute; what is wrong with it is reported and null returned. */
export function resolve(
  findings: Findings,
  document: DocumentName,
  pointer: string,
  when: string,
  site: Site | undefined,
): number | null {
  if (!site || !isTimeZone(site.timeZone)) return null;
  const resolved = resolveWhen(when, site.timeZone);
  if ("minute" in resolved) return resolved.minute;
  if (resolved.problem === "skipped")
    findings.add(
      "time-skipped",
      document,
      pointer,
      `The clocks of ${site.name} skip ${when}: that night loses an hour.`,
      "Use a time before or after the skipped hour, or write the offset, for example +01:00.",
    );
  else if (resolved.problem === "ambiguous")
    findings.add(
      "time-ambiguous",
      document,
      pointer,
      `The clocks of ${site.name} show ${when} twice: that night gains an hour.`,
      "Write the offset of the one that is meant, for example +01:00 or +00:00.",
    );
  else
    findings.add(
      "time-malformed",
      document,
      pointer,
      `${when} is no date and time to the whole minute.`,
      "Write it as 2026-01-05T06:30.",
    );
  return null;
}

function checkWindow(day: DayDocuments, findings: Findings): { from: number; to: number } | null {
  const { window } = day.settings;
  const first = day.network.sites[0];
  const from = resolve(findings, "settings", "/window/from", window.from, first);
  const to = resolve(findings, "settings", "/window/to", window.to, first);
  if (from === null || to === null) return null;
  if (to <= from) {
    findings.add(
      "window-backwards",
      "settings",
      "/window/to",
      `The window ends (${window.to}) before it starts (${window.from}).`,
      "Correct one of them.",
    );
    return null;
  }
  if (to - from > LONGEST_WINDOW_MINUTES) {
    findings.add(
      "window-too-long",
      "settings",
      "/window/to",
      `The window is ${Math.round((to - from) / 60)} h long.`,
      "Plan at most 96 h at once.",
    );
    return null;
  }
  return { from, to };
}

/** Every time of every document resolves, and lies where it must. */
export const checkTimes: Check = (day, findings) => {
  const window = checkWindow(day, findings);
  day.orders.lines.forEach((line, i) => {
    const site = day.network.sites.find((candidate) => candidate.id === line.site);
    const due = resolve(findings, "orders", `/lines/${i}/due`, line.due, site);
    if (due === null || !window) return;
    if (due <= window.from || due > window.to)
      findings.add(
        "due-outside-window",
        "orders",
        `/lines/${i}/due`,
        `${line.id} is due at ${line.due}, outside the window ${day.settings.window.from} to ${day.settings.window.to}.`,
        "Move the due time or widen the window in the settings.",
      );
  });
};
