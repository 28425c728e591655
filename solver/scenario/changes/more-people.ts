import type { Weekday } from "../../../schemas/index.js";
import { CannotChange, changeKind, crewName, siteName, withSite } from "../change.js";

const EVERY_DAY: [Weekday, ...Weekday[]] = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];

export const morePeople = changeKind<"more-people">({
  kind: "more-people",
  apply: (day, change) =>
    withSite(day, change.site, (site) => {
      if (!site.crew.some((group) => group.id === change.crew))
        throw new CannotChange(
          "unknown-crew",
          "crew",
          `Crew "${change.crew}" is not at ${site.name}.`,
          "Name one of the site's crew groups.",
        );
      const shift = {
        days: change.days ?? EVERY_DAY,
        from: change.from,
        to: change.to,
        heads: change.heads,
        ...(change.overtimeCostPerHour === undefined ? {} : { overtimeCostPerHour: change.overtimeCostPerHour }),
      };
      const crew = site.crew.map((group) =>
        group.id === change.crew ? { ...group, shifts: [...group.shifts, shift] } : group,
      );
      return { ...site, crew };
    }),
  words: (day, { site, crew, heads, from, to }) => {
    return `${heads} more ${heads === 1 ? "person" : "people"} in the ${crewName(day, site, crew)} at ${siteName(day, site)}, ${from} to ${to}`;
  },
});
