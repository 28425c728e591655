import type { CellKind } from "../../solver/sheets/index.js";

/** Widths of type as in the widest of the usual plain sans-serif faces (DejaVu Sans), so that what is laid out here fits in any of them. */
const MM_PER_PT = 25.4 / 72;
const LINE_HEIGHT = 1.22;
/** What both A4 and Letter have inside margins of 10 mm. */
export const PAGE_WIDTH_MM = 190;
const BOLD = 1.12;

const ADVANCES: readonly (readonly [RegExp, number])[] = [
  [/[ijl|!'.,:;]/, 0.32],
  [/[ftr()[\]/-]/, 0.4],
  [/[0-9]/, 0.64],
  [/[+=<>~]/, 0.84],
  [/[bdghnpqu]/, 0.64],
  [/[a-z]/, 0.61],
  [/[mwMW@%]/, 0.95],
  [/[DGHNOQU]/, 0.79],
  [/[A-Z]/, 0.7],
];
const BLANK = 0.32;
const OTHER = 0.75;

const advances = new Map<string, number>();

function advanceOf(character: string): number {
  let advance = advances.get(character);
  if (advance === undefined) {
    advance =
      character === " "
        ? BLANK
        : /[mw]/.test(character)
          ? 0.95
          : (ADVANCES.find(([kind]) => kind.test(character))?.[1] ?? OTHER);
    advances.set(character, advance);
  }
  return advance;
}

function emsOf(text: string): number {
  let ems = 0;
  for (const character of text) ems += advanceOf(character);
  return ems;
}

/** Height of so many lines, mm. */
export function heightOf(lines: number, pt: number): number {
  return lines * LINE_HEIGHT * pt * MM_PER_PT;
}

/** Width of a text, mm. */
export function textMm(text: string, pt: number, isBold = false): number {
  return emsOf(text) * pt * MM_PER_PT * (isBold ? BOLD : 1);
}

/** Short words are not broken ("shelf-2", "(41-43)"), nor a number from what it is the number of ("butter-" and "crescent-44"). */
const SHORT_WORD = 9;
/** Longer parts than this may be broken to save room. */
const LONG_WORD = 12;

/** Where a text is broken: after blanks, and in long words after hyphens and slashes. */
function words(text: string): string[] {
  return text
    .split(/(?<= )/)
    .flatMap((word) => (word.trimEnd().length <= SHORT_WORD ? [word] : word.split(/(?<=[/]|-(?!\d))/)));
}

/** A text in parts: those that are whole have a hyphen or slash inside at which a browser would break them, and must not. */
export function partsOf(text: string): { readonly text: string; readonly isWhole: boolean }[] {
  const parts: { text: string; isWhole: boolean }[] = [];
  for (const word of words(text)) {
    const ink = word.trimEnd();
    const isWhole = ink.length <= LONG_WORD && /[-/]./.test(ink);
    const last = parts.at(-1);
    if (!isWhole && last && !last.isWhole) last.text += word;
    else if (!isWhole || ink === word) parts.push({ text: word, isWhole });
    // The blank after it may be broken at.
    else parts.push({ text: ink, isWhole }, { text: " ", isWhole: false });
  }
  return parts;
}

interface MeasuredWord {
  /** Widths in ems, with the blank after it and without. */
  readonly ems: number;
  readonly inkEms: number;
}

const measured = new Map<string, readonly MeasuredWord[]>();
const MOST_MEASURED = 20_000;

/** The words of a text with their widths; the same texts are asked for at every size and width. */
function measuredWords(text: string): readonly MeasuredWord[] {
  let found = measured.get(text);
  if (!found) {
    if (measured.size > MOST_MEASURED) measured.clear();
    found = words(text).map((word) => ({ ems: emsOf(word), inkEms: emsOf(word.trimEnd()) }));
    measured.set(text, found);
  }
  return found;
}

/** Lines that a text takes on so many millimetres; words longer than that break anywhere. */
export function wrappedLines(text: string, widthMm: number, pt: number, isBold = false): number {
  if (text === "") return 1;
  const room = Math.max(1, widthMm) / (pt * MM_PER_PT * (isBold ? BOLD : 1));
  let lines = 1;
  let used = 0;
  for (const { ems, inkEms } of measuredWords(text)) {
    if (used > 0 && used + inkEms > room) {
      lines++;
      used = 0;
    }
    if (inkEms > room) {
      const more = Math.ceil(inkEms / room) - 1;
      lines += more;
      used = inkEms - more * room;
    } else used += ems;
  }
  return lines;
}

export interface ColumnText {
  readonly as: CellKind;
  readonly title: string;
  /** Lines of its cells, row by row. */
  readonly cells: readonly (readonly string[])[];
}

const PADDING_MM = 2.6;
const TICK_MM = 8;
const BLANK_MM = 20;
const TITLE_SHARE = 0.72;
const WRAPS: ReadonlySet<CellKind> = new Set(["text", "strong", "list", "seconds-clock"]);

const isBoldKind = (as: CellKind): boolean => as === "strong" || as === "clock";

/** What should not be cut: short words whole, long ones at their hyphens. */
function unbroken(line: string): string[] {
  return line.split(" ").flatMap((word) => words(word).map((part) => part.slice(0, LONG_WORD)));
}

function leastWidth(column: ColumnText, pt: number): number {
  if (column.as === "tick") return TICK_MM;
  const title =
    Math.max(0, ...words(column.title).map((word) => textMm(word.trimEnd(), pt * TITLE_SHARE))) + PADDING_MM;
  if (column.as === "blank") return Math.max(BLANK_MM, title);
  const isBold = isBoldKind(column.as);
  let least = title;
  for (const lines of column.cells) {
    for (const line of lines) {
      const parts = WRAPS.has(column.as) ? unbroken(line) : [line];
      for (const part of parts) least = Math.max(least, textMm(part, pt, isBold) + PADDING_MM);
    }
  }
  return least;
}

function linesIn(cell: readonly string[], as: CellKind, widthMm: number, pt: number): number {
  if (!WRAPS.has(as)) return Math.max(1, cell.length);
  return cell.reduce((sum, line) => sum + wrappedLines(line, widthMm - PADDING_MM, pt, isBoldKind(as)), 0);
}

/**
 * Widths of columns on so many millimetres: each has room for its longest word, what is left goes step by step to where it saves most lines. Null
 * when not even the words fit.
 */
export function columnWidths(columns: readonly ColumnText[], widthMm: number, pt: number): number[] | null {
  const widths = columns.map((column) => leastWidth(column, pt));
  let spare = widthMm - widths.reduce((sum, width) => sum + width, 0);
  if (spare < 0) return null;
  const wrapping = columns.flatMap(({ as }, i) => (WRAPS.has(as) ? [i] : []));
  const rows = columns[0]?.cells.length ?? 0;
  const lines = columns.map((column, i) => column.cells.map((cell) => linesIn(cell, column.as, widths[i]!, pt)));
  const tallest = (row: number, except: number): number => {
    let most = 1;
    for (let c = 0; c < columns.length; c++) if (c !== except) most = Math.max(most, lines[c]![row]!);
    return most;
  };
  while (spare > 0.5 && wrapping.length > 0) {
    let best: { column: number; step: number; gain: number; after: number[] } | null = null;
    for (const column of wrapping) {
      for (const step of [2, 5, 10, 20]) {
        if (step > spare) break;
        const after = columns[column]!.cells.map((cell) =>
          linesIn(cell, columns[column]!.as, widths[column]! + step, pt),
        );
        let saved = 0;
        for (let row = 0; row < rows; row++) {
          const others = tallest(row, column);
          saved += Math.max(others, lines[column]![row]!) - Math.max(others, after[row]!);
          // Fewer lines in a column count a little even where another is as tall.
          saved += (lines[column]![row]! - after[row]!) * 0.05;
        }
        const gain = saved / step;
        if (gain > (best?.gain ?? 0)) best = { column, step, gain, after };
      }
    }
    if (!best) break;
    widths[best.column] = widths[best.column]! + best.step;
    lines[best.column] = best.after;
    spare -= best.step;
  }
  const takers = wrapping.length > 0 ? wrapping : columns.map((_, i) => i).filter((i) => columns[i]!.as !== "tick");
  for (const i of takers) widths[i] = widths[i]! + spare / takers.length;
  return widths;
}

/** Height of a row of cells, mm. */
export function rowHeightMm(
  cells: readonly (readonly string[])[],
  kinds: readonly CellKind[],
  widths: readonly number[],
  pt: number,
): number {
  const lines = cells.map((cell, i) => linesIn(cell, kinds[i]!, widths[i]!, pt));
  return heightOf(Math.max(1, ...lines), pt) + 1.7;
}
