import { CannotChange, changeKind, crewName, minutesWords, siteName, withSite } from "../change.js";

function moved(time: string, minutes: number): string {
  const [hours, rest] = time.split(":").map(Number) as [number, number];
  const at = (((hours * 60 + rest + minutes) % 1440) + 1440) % 1440;
  return `${String(Math.floor(at / 60)).padStart(2, "0")}:${String(at % 60).padStart(2, "0")}`;
}

function lengthOf(from: string, to: string): number {
  const at = (time: string): number => Number(time.slice(0, 2)) * 60 + Number(time.slice(3));
  return ((at(to) - at(from) + 1439) % 1440) + 1;
}

export const shiftHours = changeKind<"shift-hours">({
  kind: "shift-hours",
  apply: (day, { site: id, crew, minutesEarlier = 0, minutesLater = 0 }) =>
    withSite(day, id, (site) => {
      if (!site.crew.some((group) => group.id === crew))
        throw new CannotChange(
          "unknown-crew",
          "crew",
          `Crew "${crew}" is not at ${site.name}.`,
          "Name one of the site's crew groups.",
        );
      const groups = site.crew.map((group) => {
        if (group.id !== crew) return group;
        const shifts = group.shifts.map((shift) => {
          const length = lengthOf(shift.from, shift.to) + minutesEarlier + minutesLater;
          if (length <= 0 || length > 1440)
            throw new CannotChange(
              "out-of-range",
              "minutesEarlier",
              `A shift of ${group.name} would last ${length} min.`,
              "A shift lasts from 1 min to 24 h.",
            );
          return { ...shift, from: moved(shift.from, -minutesEarlier), to: moved(shift.to, minutesLater) };
        });
        return { ...group, shifts };
      });
      return { ...site, crew: groups };
    }),
  words: (day, { site, crew, minutesEarlier = 0, minutesLater = 0 }) => {
    const parts = [
      minutesEarlier === 0 ? "" : `starts ${minutesWords(minutesEarlier)} ${minutesEarlier > 0 ? "earlier" : "later"}`,
      minutesLater === 0 ? "" : `ends ${minutesWords(minutesLater)} ${minutesLater > 0 ? "later" : "earlier"}`,
    ].filter((part) => part !== "");
    return `the ${crewName(day, site, crew)} at ${siteName(day, site)} ${parts.join(" and ")}`;
  },
});
