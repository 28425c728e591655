import { type DayIndex, outagesOf } from "./day-index.js";
import type { RowBook } from "./row-book.js";

/** What products do at a station, as far as it matters for sharing it: allergens, lye. */
export interface UseClass {
  readonly key: string;
  readonly allergens: ReadonlySet<string>;
  /** 0: none. */
  readonly lyePercent: number;
}

/** Minutes for cleaning when `next` follows `last` on a unit. */
function cleaningBetween(last: UseClass, next: UseClass, cleaningMinutes: number): number {
  if (last.lyePercent !== next.lyePercent) return cleaningMinutes;
  for (const allergen of last.allergens) if (!next.allergens.has(allergen)) return cleaningMinutes;
  return 0;
}

/** One row per class on a unit that is cleaned between classes; one row for all when it never is. */
export function classRows(
  index: DayIndex,
  book: RowBook,
  meaning: Parameters<RowBook["add"]>[0] & { readonly unit: string },
  capacity: number,
  classes: readonly UseClass[],
  cleaningMinutes: number,
): Map<string, number> {
  const rows = new Map<string, number>();
  if (cleaningMinutes === 0) {
    const row = book.add(meaning, capacity);
    for (const use of classes) rows.set(use.key, row);
    return rows;
  }
  const standstills = standstillsOf(outagesOf(index, meaning.unit));
  for (const use of classes) {
    const row = book.add(meaning, capacity);
    book.standStill(row, standstills);
    rows.set(use.key, row);
  }
  for (const own of classes) {
    for (const other of classes) {
      if (own === other) continue;
      const before = cleaningBetween(other, own, cleaningMinutes);
      const after = cleaningBetween(own, other, cleaningMinutes);
      if (before > 0 || after > 0) book.exclude(rows.get(own.key)!, rows.get(other.key)!, before, after);
    }
  }
  return rows;
}

/** Closes the rows of a unit while it is out, and makes them smaller by what is lost. */
export function closeOutages(index: DayIndex, book: RowBook, unit: string, rows: readonly number[]): void {
  for (const outage of outagesOf(index, unit)) for (const row of rows) book.close(row, outage.from, outage.to);
  for (const small of index.shrinkages) {
    // From now on: whatever is put in a position that will be lost would have to be carried.
    if (small.unit === unit) for (const row of rows) book.shrink(row, small.shutFrom, small.to, small.positions);
  }
}

/** Outages as from..to pairs in order of time, those that overlap as one. */
function standstillsOf(outages: readonly { from: number; to: number }[]): Int32Array {
  const spans: number[] = [];
  for (const { from, to } of [...outages].sort((a, b) => a.from - b.from)) {
    const last = spans.length - 1;
    if (last > 0 && from <= spans[last]!) spans[last] = Math.max(spans[last]!, to);
    else spans.push(from, to);
  }
  return Int32Array.from(spans);
}

/** The stretches of the window between outages, as from..to pairs. */
export function stretchesOf(horizon: number, outages: readonly { from: number; to: number }[]): Int32Array {
  const sorted = [...outages].sort((a, b) => a.from - b.from);
  const stretches: number[] = [];
  let from = 0;
  for (const outage of sorted) {
    if (outage.from > from) stretches.push(from, outage.from);
    from = Math.max(from, outage.to);
  }
  if (from < horizon) stretches.push(from, horizon);
  return Int32Array.from(stretches);
}

/** A heater's rows are closed while it heats up at the start of each stretch. */
export function closeLeads(book: RowBook, rows: Iterable<number>, stretches: Int32Array, leadMinutes: number): void {
  for (const row of rows) {
    for (let i = 0; i < stretches.length; i += 2)
      book.close(row, stretches[i]!, Math.min(stretches[i]! + leadMinutes, stretches[i + 1]!));
  }
}
