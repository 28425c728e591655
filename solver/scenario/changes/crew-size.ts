import type { CrewGroup } from "../../../schemas/index.js";
import { CannotChange, changeKind, crewName, siteName, withSite } from "../change.js";

/** The group with other heads; breaks never send more people away than there are. */
function resized(group: CrewGroup, heads: number): CrewGroup {
  const shifts = group.shifts
    .map((shift) => ({ ...shift, heads: shift.heads + heads }))
    .filter((shift) => shift.heads > 0)
    .map(({ breaks, ...shift }) =>
      breaks
        ? {
            ...shift,
            breaks: breaks.map((one) => (one.heads ? { ...one, heads: Math.min(one.heads, shift.heads) } : one)),
          }
        : shift,
    );
  return { ...group, shifts: shifts as CrewGroup["shifts"] };
}

export const crewSize = changeKind<"crew-size">({
  kind: "crew-size",
  apply: (day, { site: id, crew, heads }) =>
    withSite(day, id, (site) => {
      if (!site.crew.some((group) => group.id === crew))
        throw new CannotChange(
          "unknown-crew",
          "crew",
          `Crew "${crew}" is not at ${site.name}.`,
          "Name one of the site's crew groups.",
        );
      return { ...site, crew: site.crew.map((group) => (group.id === crew ? resized(group, heads) : group)) };
    }),
  words: (day, { site, crew, heads }) => {
    const many = Math.abs(heads);
    return `${many} ${many === 1 ? "person" : "people"} ${heads < 0 ? "fewer" : "more"} in the ${crewName(day, site, crew)} at ${siteName(day, site)}`;
  },
});
