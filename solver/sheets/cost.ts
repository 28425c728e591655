import { costingOf } from "../trade/costing.js";
import { bakeLossShare, toppedG } from "../trade/yield.js";
import type { Book } from "./book.js";
import { sheetOf } from "./make.js";
import type { Row, Sheet } from "./model.js";

/** What the timetable costs, and each product's food; one for the network, filed under its first site. */
export function costSheets(book: Book): Sheet[] {
  const site = book.day.network.sites[0]!;
  const costing = costingOf(book.day, book.timetable);
  if (costing.pieces === 0) return [];
  const products = costing.food
    .map(({ product: id, pieces, perPiece, total }): Row & { name: string } => {
      const product = book.products.get(id)!;
      const loss = bakeLossShare(product);
      return {
        name: product.name,
        pieces,
        pieceG: product.pieceG,
        toppedG: toppedG(product) || null,
        bakedG: product.bakedG ?? null,
        loss: loss === null ? null : Math.round(loss * 1000) / 10,
        perPiece,
        total,
      };
    })
    .sort((a, b) => (a.name < b.name ? -1 : 1));
  const parts: Row[] = [
    { for: "Food", amount: costing.foodTotal, how: `${costing.pieces} pieces` },
    { for: "Dough mixed over", amount: costing.spareTotal, how: "to reach a least batch" },
    { for: "Energy", amount: costing.energyTotal, how: `${costing.energyKwh.toFixed(0)} kWh, ovens and kettles` },
    {
      for: "Hands",
      amount: costing.labourTotal,
      how: `${costing.labourHours.toFixed(1)} worked hours, idle time not counted`,
    },
    { for: "Overtime", amount: costing.overtimeTotal, how: "on top of the hours" },
    { for: "Vans", amount: costing.vanTotal, how: "" },
    { for: "Together", amount: costing.total, how: "" },
  ];
  return [
    sheetOf(site, {
      kind: "cost",
      name: "",
      title: "Cost",
      subtitle: "All sites",
      from: book.timetable.window.from,
      facts: [
        { label: "Together", value: costing.total, as: "money" },
        { label: "A piece", value: costing.total / costing.pieces, as: "money" },
      ],
      tables: [
        {
          id: "parts",
          columns: [
            { key: "for", title: "For", as: "strong" },
            { key: "amount", title: "Amount", as: "money" },
            { key: "how", title: "", as: "text" },
          ],
          rows: parts,
        },
        {
          id: "food",
          title: "Food by product",
          columns: [
            { key: "name", title: "Product", as: "strong" },
            { key: "pieces", title: "Pieces", as: "count" },
            { key: "pieceG", title: "Dough", as: "mass" },
            { key: "toppedG", title: "On or in it", as: "mass" },
            { key: "bakedG", title: "Baked", as: "mass" },
            { key: "loss", title: "Bake loss %", as: "percent" },
            { key: "perPiece", title: "Food a piece", as: "money" },
            { key: "total", title: "Food", as: "money" },
          ],
          rows: products,
        },
      ],
      notes:
        costing.uncosted.length === 0 ? [] : [`Without a price, counted as nothing: ${costing.uncosted.join(", ")}.`],
    }),
  ];
}
