import type { DayDocuments, Timetable } from "../../schemas/index.js";
import { benchSheets } from "./bench.js";
import { Book } from "./book.js";
import { costSheets } from "./cost.js";
import { crewSheets } from "./crew.js";
import { fridgeSheets } from "./fridge.js";
import { kettleSheets } from "./kettle.js";
import { mixSheets } from "./mix.js";
import { mixerSheets } from "./mixer.js";
import { SHEET_KINDS, type Sheet, type SheetKind } from "./model.js";
import { orderSheets } from "./orders.js";
import { outSheets } from "./out.js";
import { ovenSheets } from "./oven.js";
import { proofSheets } from "./proof.js";
import { storeSheets } from "./stores.js";

export { Book } from "./book.js";
export type { Cell, CellKind, Column, Drawing, Fact, Row, Sheet, SheetKind, Table } from "./model.js";
export { SHEET_KINDS } from "./model.js";

/** Kinds of which there is a sheet for each thing that is done; the others have one for each station or person, in the network's order, as they hang in the kitchen. */
const BY_TIME: ReadonlySet<SheetKind> = new Set(["mix", "van"]);

/**
 * Every sheet of a timetable, by site (in the network's order), kind (in the day's order), and time or station. Pure: the same documents give the same
 * sheets. The timetable must be of that day; ids that are not in it are skipped.
 */
export function sheetsOf(day: DayDocuments, timetable: Timetable): Sheet[] {
  const book = new Book(day, timetable);
  const sheets = [
    ...orderSheets(book),
    ...storeSheets(book),
    ...mixerSheets(book),
    ...mixSheets(book),
    ...fridgeSheets(book),
    ...benchSheets(book),
    ...proofSheets(book),
    ...kettleSheets(book),
    ...ovenSheets(book),
    ...outSheets(book),
    ...crewSheets(book),
    ...costSheets(book),
  ];
  const siteOrder = day.network.sites.map(({ id }) => id);
  return sheets.sort(
    (a, b) =>
      siteOrder.indexOf(a.site) - siteOrder.indexOf(b.site) ||
      SHEET_KINDS.indexOf(a.kind) - SHEET_KINDS.indexOf(b.kind) ||
      (BY_TIME.has(a.kind) ? book.minute(a.from) - book.minute(b.from) || (a.id < b.id ? -1 : 1) : 0),
  );
}
