import type { Row } from "./types.js";

/** A row with its place down the page, px from the first row's top. */
export interface LaidRow {
  readonly row: Row;
  readonly top: number;
  readonly height: number;
  /** Where its lanes begin below its top, and how high one is. */
  readonly lanesTop: number;
  readonly laneHeight: number;
  /** The heat ribbon's height, below the lanes. */
  readonly ribbon: number;
}

const PAD = 4;

function laneHeight(row: Row, roomy: number): number {
  if (row.isUnfolded && row.lanesArePositions) return row.laneCount > 24 ? 12 : 18;
  switch (row.station) {
    case "oven":
      return Math.max(7, 34 / Math.max(4, row.laneCount)) * roomy;
    case "bench":
      return 11 * roomy;
    case "fridge":
      return row.isPart ? 13 : 8 * roomy;
    case "van":
      return 18 * roomy;
    default:
      return 22 * roomy;
  }
}

const GAUGE_PX = { fridge: 40, proofer: 30, rack: 26, crew: 24 } as const;

function laid(row: Row, top: number, roomy: number): LaidRow {
  if (row.station === "site") return { row, top, height: 34, lanesTop: 0, laneHeight: 34, ribbon: 0 };
  const ribbon = row.heats ? (row.station === "oven" ? 13 : 7) : 0;
  const each = laneHeight(row, roomy);
  const inner = row.gauge ? (GAUGE_PX[row.station as keyof typeof GAUGE_PX] ?? 28) * roomy : each * row.laneCount;
  const height = Math.max(Math.round(inner + ribbon + 2 * PAD), row.isPart ? 20 : 28);
  return { row, top, height, lanesTop: PAD, laneHeight: row.gauge ? inner : each, ribbon };
}

/** Puts rows one below the other. `roomy` stretches them: 1 is dense. */
export function layRows(rows: readonly Row[], roomy: number): { readonly rows: LaidRow[]; readonly height: number } {
  const found: LaidRow[] = [];
  let top = 0;
  for (const row of rows) {
    const next = laid(row, top, roomy);
    found.push(next);
    top += next.height;
  }
  return { rows: found, height: top };
}

/** The row at a height, by bisection. */
export function rowAt(rows: readonly LaidRow[], y: number): LaidRow | undefined {
  let low = 0;
  let high = rows.length - 1;
  while (low <= high) {
    const middle = (low + high) >> 1;
    const row = rows[middle]!;
    if (y < row.top) high = middle - 1;
    else if (y >= row.top + row.height) low = middle + 1;
    else return row;
  }
  return undefined;
}

/** The bar of a row at an instant and a height below the row's top; the last drawn wins. */
export function barAt(laidRow: LaidRow, ms: number, yInRow: number, slackMs: number) {
  const { row, lanesTop, laneHeight } = laidRow;
  if (row.gauge) return undefined;
  const lane = Math.floor((yInRow - lanesTop) / laneHeight);
  let nearest: Row["bars"][number] | undefined;
  for (const bar of row.bars) {
    if (lane < bar.lane || lane >= bar.lane + bar.lanes) continue;
    if (ms >= bar.fromMs && ms < bar.toMs) return bar;
    if (ms >= bar.fromMs - slackMs && ms < bar.toMs + slackMs) nearest = bar;
  }
  return nearest;
}
