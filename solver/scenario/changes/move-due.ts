import { formatInstant, resolveWhen } from "../../calendar.js";
import { changeKind, checkChoice, choiceWords, isChosen, minutesWords, withLines } from "../change.js";

export const moveDue = changeKind<"move-due">({
  kind: "move-due",
  apply: (day, { of, minutesLater }) => {
    checkChoice(day, of);
    const zones = new Map(day.network.sites.map((site) => [site.id, site.timeZone]));
    return withLines(day, (line) => {
      if (!isChosen(line, of)) return line;
      const zone = zones.get(line.site) ?? "UTC";
      const due = resolveWhen(line.due, zone);
      return "problem" in due ? line : { ...line, due: formatInstant(due.minute + minutesLater, zone) };
    });
  },
  words: (day, { of, minutesLater }) =>
    `${choiceWords(day, of)} due ${minutesWords(minutesLater)} ${minutesLater < 0 ? "earlier" : "later"}`,
});
