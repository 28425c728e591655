import { changeKind, checkChoice, choiceWords, isChosen, withLines } from "../change.js";

export const dropLines = changeKind<"drop-lines">({
  kind: "drop-lines",
  apply: (day, { of }) => {
    checkChoice(day, of);
    return withLines(day, (line) => (isChosen(line, of) ? null : line));
  },
  words: (day, { of }) => `without ${choiceWords(day, of)}`,
});
