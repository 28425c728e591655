import type { DayDocuments, DocumentName, Site } from "../../schemas/index.js";
import { isTimeZone, resolveWhen } from "../calendar.js";
import { type Check, type Findings, list } from "./context.js";

const LONGEST_WINDOW_MINUTES = 96 * 60;

/** A `When` as an epoch minute; what is wrong with it is reported and null returned. */
function resolve(
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

function checkUnit(day: DayDocuments, findings: Findings, unit: string, pointer: string): Site | undefined {
  const [siteId, unitId, partId] = unit.split("/");
  const site = day.network.sites.find((candidate) => candidate.id === siteId);
  if (!site) {
    findings.add(
      "unknown-unit",
      "happenings",
      pointer,
      `${siteId} is not a site.`,
      `Sites are ${list(day.network.sites.map((candidate) => candidate.id))}.`,
    );
    return undefined;
  }
  const units = [
    ...site.mixers,
    ...site.fridges,
    ...site.benches,
    ...site.proofers,
    ...site.kettles,
    ...site.ovens,
    ...site.racks,
  ];
  const found = units.find((candidate) => candidate.id === unitId);
  const parts = found && "decks" in found ? found.decks : found && "shelves" in found ? found.shelves : [];
  if (!found)
    findings.add(
      "unknown-unit",
      "happenings",
      pointer,
      `${site.id} has no unit ${unitId}.`,
      `Its units are ${list(units.map((candidate) => candidate.id))}.`,
    );
  else if (partId !== undefined && !parts.some((part) => part.id === partId))
    findings.add(
      "unknown-unit",
      "happenings",
      pointer,
      `${siteId}/${unitId} has no part ${partId}.`,
      `Its parts are ${list(parts.map((part) => part.id))}.`,
    );
  return site;
}

function checkHappenings(day: DayDocuments, findings: Findings): void {
  const tasks = new Set(day.inForce?.tasks.map((task) => task.id));
  day.happenings.happenings.forEach((happening, i) => {
    const at = `/happenings/${i}`;
    if (happening.kind === "lock") {
      if (!day.inForce)
        findings.add(
          "no-timetable-in-force",
          "happenings",
          `${at}/task`,
          `${happening.task} is locked, but the folder holds no timetable in force.`,
          "Add timetable-in-force.json or remove the lock.",
        );
      else if (!tasks.has(happening.task))
        findings.add(
          "unknown-task",
          "happenings",
          `${at}/task`,
          `${happening.task} is not a task of the timetable in force.`,
          "Correct the id or remove the lock.",
        );
      return;
    }
    let site: Site | undefined;
    if (happening.kind === "absent") {
      site = day.network.sites.find((candidate) => candidate.id === happening.site);
      if (!site)
        findings.add(
          "unknown-site",
          "happenings",
          `${at}/site`,
          `${happening.site} is not a site.`,
          `Use one of ${list(day.network.sites.map((candidate) => candidate.id))}.`,
        );
      else if (!site.crew.some((group) => group.id === happening.crew))
        findings.add(
          "unknown-crew",
          "happenings",
          `${at}/crew`,
          `${site.id} has no crew group ${happening.crew}.`,
          `Its groups are ${list(site.crew.map((group) => group.id))}.`,
        );
    } else site = checkUnit(day, findings, happening.unit, `${at}/unit`);
    const from = resolve(findings, "happenings", `${at}/from`, happening.from, site);
    const to = happening.to === undefined ? null : resolve(findings, "happenings", `${at}/to`, happening.to, site);
    if (from !== null && to !== null && to <= from)
      findings.add(
        "ends-before-start",
        "happenings",
        `${at}/to`,
        `It ends (${happening.to}) before it starts (${happening.from}).`,
        "Correct one of them.",
      );
  });
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
  checkHappenings(day, findings);
};
