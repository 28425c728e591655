import { localParts } from "../../calendar.js";
import type { Candidate, RemedyMaker } from "../candidate.js";

const HEADS = [1, 2];
const EARLIER_MINUTES = 60;

function hours(from: string, to: string): number {
  const at = (time: string): number => Number(time.slice(0, 2)) + Number(time.slice(3)) / 60;
  return (at(to) - at(from) + 24) % 24 || 24;
}

/** Another person or two on the shift that is on, and that shift an hour earlier. */
export const people: RemedyMaker = (want, { day, prices, origin }) => {
  const site = day.network.sites.find(({ id }) => id === want.site);
  if (!site || (want.kind !== "crew" && want.kind !== "bench" && want.kind !== "mixer")) return [];
  const skills = want.kind === "crew" ? want.of.split("+") : [];
  const at = localParts(origin + Math.round((want.from + want.to) / 2), site.timeZone).time;
  const candidates: Candidate[] = [];
  for (const group of site.crew) {
    if (skills.length > 0 && !group.skills.some((skill) => skills.includes(skill))) continue;
    const shift = group.shifts.find(({ from, to }) => (from < to ? from <= at && at < to : at >= from || at < to));
    if (!shift) continue;
    const { from, to } = shift;
    if (want.kind === "crew") {
      for (const heads of HEADS) {
        candidates.push({
          family: `people ${site.id} ${group.id}`,
          changes: [{ kind: "more-people", site: site.id, crew: group.id, from, to, heads }],
          cost: heads * hours(from, to) * prices.personHour,
        });
      }
    }
    candidates.push({
      family: `earlier ${site.id} ${group.id}`,
      changes: [{ kind: "shift-hours", site: site.id, crew: group.id, minutesEarlier: EARLIER_MINUTES }],
      cost: (EARLIER_MINUTES / 60) * shift.heads * prices.personHour,
    });
  }
  return candidates;
};
