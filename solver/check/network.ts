import type { CrewGroup, Site } from "../../schemas/index.js";
import { isTimeZone } from "../calendar.js";
import type { Check, Findings } from "./context.js";

function minutesOf(time: string): number {
  return Number(time.slice(0, 2)) * 60 + Number(time.slice(3, 5));
}

function checkShifts(findings: Findings, group: CrewGroup, at: string): void {
  group.shifts.forEach((shift, i) => {
    const from = minutesOf(shift.from);
    const to = minutesOf(shift.to) + (shift.to > shift.from ? 0 : 1440);
    (shift.breaks ?? []).forEach((pause, j) => {
      const start = minutesOf(pause.from) + (pause.from < shift.from ? 1440 : 0);
      const end = start + ((minutesOf(pause.to) - minutesOf(pause.from) + 1440) % 1440 || 1440);
      const here = `${at}/shifts/${i}/breaks/${j}`;
      if (start < from || end > to)
        findings.add(
          "break-outside-shift",
          "network",
          here,
          `The break ${pause.from}-${pause.to} is not inside the shift ${shift.from}-${shift.to}.`,
          "Move the break or lengthen the shift.",
        );
      if (pause.heads !== undefined && pause.heads > shift.heads)
        findings.add(
          "break-heads",
          "network",
          `${here}/heads`,
          `${pause.heads} take the break, the shift has ${shift.heads}.`,
          "Lower the break's heads.",
        );
    });
  });
}

function rising(findings: Findings, values: readonly number[], at: string, what: string): void {
  values.forEach((value, i) => {
    if (i > 0 && value <= values[i - 1]!)
      findings.add(
        "table-order",
        "network",
        `${at}/${i}`,
        `Row ${i + 1} (${value}) does not rise above the row before it (${values[i - 1]}).`,
        `Sort the rows by ${what}; each value once.`,
      );
  });
}

function checkSite(findings: Findings, site: Site, at: string): void {
  if (!isTimeZone(site.timeZone))
    findings.add(
      "unknown-time-zone",
      "network",
      `${at}/timeZone`,
      `${site.timeZone} is not a time zone of the IANA database.`,
      "Use a name such as Europe/Dublin.",
    );
  site.crew.forEach((group, i) => checkShifts(findings, group, `${at}/crew/${i}`));
  site.mixers.forEach((mixer, i) =>
    rising(
      findings,
      mixer.limits.map((row) => row.fromAbsorptionPercent),
      `${at}/mixers/${i}/limits`,
      "fromAbsorptionPercent",
    ),
  );
  site.kettles.forEach((kettle, i) =>
    rising(
      findings,
      kettle.piecesPerDip.map((row) => row.upToMm),
      `${at}/kettles/${i}/piecesPerDip`,
      "upToMm",
    ),
  );
}

/** Zones, shifts and tables of the network make sense. */
export const checkNetwork: Check = (day, findings) => {
  day.network.sites.forEach((site, s) => checkSite(findings, site, `/sites/${s}`));
};
