import { CannotChange, changeKind, productName, siteName } from "../change.js";

export const addLine = changeKind<"add-line">({
  kind: "add-line",
  apply: (day, { line }) => {
    if (day.orders.lines.some(({ id }) => id === line.id))
      throw new CannotChange(
        "duplicate-id",
        "line/id",
        `There is a line "${line.id}" already.`,
        "Give the new line an id of its own.",
      );
    return { ...day, orders: { ...day.orders, lines: [...day.orders.lines, line] } };
  },
  words: (day, { line }) => `${line.pieces} more ${productName(day, line.product)} for ${siteName(day, line.site)}`,
});
