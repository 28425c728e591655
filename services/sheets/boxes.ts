import type { Column, Fact } from "../../solver/sheets/index.js";
import { heightOf, PAGE_WIDTH_MM, textMm, wrappedLines } from "./measure.js";
import type { LaidRow } from "./rows.js";

/** The boxes of figures at the head of a sheet, and the labels that are cut out. */

const LABEL_PT = 11;
const NOTE_PT = 9;
/** Labels stand two and two; inside their edges there is so much. */
const CARD_WIDTH_MM = 86;
const CARD_PT = 11;
const CLOCK_PT = 14.5;

/** Facts stand side by side as far as they go; those with a note are higher. */
export function factsHeight(facts: readonly { fact: Fact; text: string }[]): number {
  if (facts.length === 0) return 0;
  let rows = 1;
  let used = 0;
  for (const { fact, text } of facts) {
    const width = factWidthMm(fact, text) + FACT_GAP_MM;
    if (used + width > PAGE_WIDTH_MM + FACT_GAP_MM && used > 0) {
      rows++;
      used = 0;
    }
    used += width;
  }
  return rows * (factHeightMm(facts) + 2) + 1;
}

/** All boxes of a sheet are of one height. */
export function factHeightMm(facts: readonly { fact: Fact }[]): number {
  return facts.some(({ fact }) => fact.note !== undefined) ? 21 : 17;
}

const FACT_GAP_MM = 2.5;
const FACT_PT = 20;

export function factWidthMm(fact: Fact, text: string): number {
  const note = fact.note === undefined ? 0 : Math.min(36, textMm(fact.note, NOTE_PT));
  const widest = Math.max(20, textMm(text, FACT_PT, true), textMm(fact.label, LABEL_PT), note);
  return Math.min(PAGE_WIDTH_MM, widest + 5);
}

const CLOCKS_MM = 9.6;

/** Rows of times on a label: four stand side by side, unless they have their offsets with them. */
function clockRows(cells: readonly (readonly string[])[], columns: readonly Column[]): number {
  const clocks = cells.filter((_, i) => columns[i]!.as === "clock");
  if (clocks.every((lines) => lines.length < 2)) return 1;
  let rows = 1;
  let used = 0;
  for (const lines of clocks) {
    const width = textMm(lines.join(" ").replace(/^[A-Z][a-z]{2} /, ""), CLOCK_PT, true) + 3;
    if (used > 0 && used + width > CARD_WIDTH_MM) {
      rows++;
      used = 0;
    }
    used += width;
  }
  return rows;
}

/** What the fullest label needs: name, item, figures in rows, four times, and its last column (allergens) in full. */
export function cardHeightMm(rows: readonly LaidRow[], columns: readonly Column[]): number {
  const heights = rows.map((row) => {
    if (row.kind === "day") return 0;
    const figures = row.cells.slice(2, -1).filter((_, i) => columns[i + 2]!.as !== "clock");
    const texts = figures.flatMap((lines) => (lines[0] === "" ? [] : [lines.join(" ")]));
    let figureRows = 1;
    let used = 0;
    // A figure that is wider than the label goes on below.
    let moreLines = 0;
    for (const text of texts) {
      const width = Math.min(CARD_WIDTH_MM, textMm(text, CARD_PT) + 3.5);
      moreLines += wrappedLines(text, CARD_WIDTH_MM, CARD_PT) - 1;
      if (used > 0 && used + width > CARD_WIDTH_MM) {
        figureRows++;
        used = 0;
      }
      used += width;
    }
    const last = wrappedLines(row.cells.at(-1)!.join(" "), CARD_WIDTH_MM, CARD_PT, true);
    const clocks = clockRows(row.cells, columns) * CLOCKS_MM;
    const item = wrappedLines(row.cells[1]!.join(" "), CARD_WIDTH_MM, 12);
    return 6.4 + item * 5 + figureRows * 7.9 + clocks + 3.6 + (moreLines + last) * heightOf(1, CARD_PT) + 5.2;
  });
  return Math.max(30, ...heights);
}
