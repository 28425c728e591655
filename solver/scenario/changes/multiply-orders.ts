import { grown } from "../../network/grown.js";
import { changeKind, checkChoice, choiceWords, isChosen, withLines } from "../change.js";

export const multiplyOrders = changeKind<"multiply-orders">({
  kind: "multiply-orders",
  apply: (day, { of, times }) => {
    checkChoice(day, of);
    return withLines(day, (line) => (isChosen(line, of) ? { ...line, pieces: grown(line.pieces, times) } : line));
  },
  words: (day, { of, times }) => `${choiceWords(day, of)} x ${times}`,
});
