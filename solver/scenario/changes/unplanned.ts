import { changeKind, crewName, siteName, unitName } from "../change.js";

export const unplanned = changeKind<"unplanned">({
  kind: "unplanned",
  apply: (day, { happening }) => ({
    ...day,
    happenings: { ...day.happenings, happenings: [...day.happenings.happenings, happening] },
  }),
  words: (day, { happening }) => {
    if (happening.kind === "out-of-service") {
      const what = `${unitName(day, happening.unit)} at ${siteName(day, happening.unit.split("/")[0]!)}`;
      // From the window's first minute on and for good: it is simply not there.
      if (happening.from === day.settings.window.from && happening.to === undefined) return `without ${what}`;
      return `${what} out of service from ${happening.from}`;
    }
    if (happening.kind === "absent")
      return `${happening.heads} of the ${crewName(day, happening.site, happening.crew)} at ${siteName(day, happening.site)} absent`;
    return happening.kind === "lock"
      ? `${happening.task} stays as it was`
      : `what happened: ${happening.kind.replaceAll("-", " ")}`;
  },
});
