import type { OrderOutcome, Site } from "../../schemas/index.js";
import { linesAsTold } from "../problem/told.js";
import type { Book } from "./book.js";
import { sheetOf } from "./make.js";
import type { Row, Sheet } from "./model.js";

function stateText(outcome: OrderOutcome): string {
  const late = outcome.lateMinutes > 0 ? [`${outcome.lateMinutes} min late`] : [];
  const short = outcome.shortPieces > 0 ? [`${outcome.shortPieces} short`] : [];
  return [...late, ...short].join(", ") || "on time";
}

function siteOrders(book: Book, site: Site): Sheet | null {
  const lines = linesAsTold(book.day).filter((line) => line.site === site.id);
  if (lines.length === 0) return null;
  const outcomes = new Map(book.timetable.orders.map((outcome) => [outcome.line, outcome]));
  const found = lines.flatMap((line) => {
    const outcome = outcomes.get(line.id);
    return outcome ? [{ line, outcome }] : [];
  });
  found.sort((a, b) => book.minute(a.outcome.due) - book.minute(b.outcome.due) || (a.line.id < b.line.id ? -1 : 1));
  const wanting = found.filter(({ outcome }) => outcome.state !== "on-time");
  const rows = found.map(
    ({ line, outcome }): Row => ({
      given: false,
      due: outcome.due,
      ready: outcome.ready ?? null,
      pieces: outcome.pieces,
      product: book.products.get(line.product)?.name ?? line.product,
      customer: line.customer ?? "",
      state: stateText(outcome),
      line: line.id,
      why: outcome.why?.text ?? "",
    }),
  );
  return sheetOf(site, {
    kind: "orders",
    name: "",
    title: "Orders",
    subtitle: "By due time",
    from: found[0]?.outcome.due ?? book.timetable.window.from,
    facts: [
      { label: "Lines", value: found.length, as: "count" },
      { label: "On time", value: found.length - wanting.length, as: "count" },
      { label: "Late", value: found.filter(({ outcome }) => outcome.lateMinutes > 0).length, as: "count" },
      { label: "Short", value: found.filter(({ outcome }) => outcome.shortPieces > 0).length, as: "count" },
    ],
    allergens: book.allergens(
      found.flatMap(({ line }) => {
        const product = book.products.get(line.product);
        return product ? book.productIngredients(product) : [];
      }),
    ),
    tables: [
      {
        id: "orders",
        columns: [
          { key: "given", title: "", as: "tick" },
          { key: "due", title: "Due", as: "clock" },
          { key: "ready", title: "Ready", as: "clock" },
          { key: "pieces", title: "Pieces", as: "count" },
          { key: "product", title: "Product", as: "strong" },
          { key: "customer", title: "For", as: "text" },
          { key: "state", title: "State", as: "text" },
          { key: "line", title: "Line", as: "text" },
          ...(wanting.length > 0 ? [{ key: "why", title: "Why", as: "text" as const }] : []),
        ],
        rows,
      },
    ],
  });
}

export function orderSheets(book: Book): Sheet[] {
  return book.day.network.sites.flatMap((site) => siteOrders(book, site) ?? []);
}
