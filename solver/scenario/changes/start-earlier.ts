import { formatInstant, resolveWindow } from "../../calendar.js";
import { CannotChange, changeKind, minutesWords } from "../change.js";

export const startEarlier = changeKind<"start-earlier">({
  kind: "start-earlier",
  apply: (day, { minutes }) => {
    const window = resolveWindow(day.settings, day.network);
    if ("problem" in window)
      throw new CannotChange("time-malformed", "minutes", "The day's window does not resolve.", "Check the day first.");
    const from = formatInstant(window.fromMinute - minutes, day.network.sites[0]!.timeZone);
    return { ...day, settings: { ...day.settings, window: { ...day.settings.window, from } } };
  },
  words: (_day, { minutes }) => `work can start ${minutesWords(minutes)} earlier`,
});
