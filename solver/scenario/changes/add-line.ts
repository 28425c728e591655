import { withToldLines } from "../../problem/told.js";
import { CannotChange, changeKind, productName, siteName } from "../change.js";

export const addLine = changeKind<"add-line">({
  kind: "add-line",
  apply: (day, { line }) => {
    const told = withToldLines(day);
    if (told.orders.lines.some(({ id }) => id === line.id))
      throw new CannotChange(
        "duplicate-id",
        "line/id",
        `There is a line "${line.id}" already.`,
        "Give the new line an id of its own.",
      );
    return { ...told, orders: { ...told.orders, lines: [...told.orders.lines, line] } };
  },
  words: (day, { line }) => `${line.pieces} more ${productName(day, line.product)} for ${siteName(day, line.site)}`,
});
