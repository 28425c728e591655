import type { Prepared } from "../problem/prepare.js";

/** Hours are capacity's unit here: finer buckets cost time and change little. */
export const BUCKET_MINUTES = 60;

/** Things of one kind at one site, taken together. */
export interface Pool {
  readonly name: string;
  /** Amount-minutes by bucket. */
  readonly offered: Float64Array;
}

/** Sums up rows into pools: decks, kettles and benches count in unit-minutes, everything else in its own amounts. */
export class Pools {
  readonly pools: Pool[] = [];
  private readonly poolOfRow: Int32Array;
  /** What one of a row's amount is in its pool. */
  private readonly shareOfAmount: Float64Array;

  constructor(prepared: Prepared) {
    const { book } = prepared;
    const count = Math.ceil(book.horizon / BUCKET_MINUTES);
    this.poolOfRow = new Int32Array(book.rowCount).fill(-1);
    this.shareOfAmount = new Float64Array(book.rowCount).fill(1);
    const byName = new Map<string, number>();
    const countedUnits = new Set<string>();
    for (let row = 0; row < book.rowCount; row++) {
      const { kind, site, unit, of } = book.meanings[row]!;
      if (kind === "van" || kind === "fridge-heat" || kind === "pans" || kind === "tubs" || kind === "mixer") continue;
      const shared = book.isShared(row) || kind === "deck-positions" || kind === "kettle" || kind === "bench";
      const name = `${site} ${kind}${kind === "fridge-positions" ? ` ${of}` : ""}`;
      let pool = byName.get(name);
      if (pool === undefined) {
        pool = this.pools.push({ name, offered: new Float64Array(count) }) - 1;
        byName.set(name, pool);
      }
      this.poolOfRow[row] = pool;
      let greatest = 0;
      for (let t = 0; t < book.horizon; t++) greatest = Math.max(greatest, book.at(row, t));
      if (shared && greatest > 0) this.shareOfAmount[row] = 1 / greatest;
      if (shared && countedUnits.has(`${kind} ${unit}`)) continue;
      countedUnits.add(`${kind} ${unit}`);
      const { offered } = this.pools[pool]!;
      for (let t = 0; t < book.horizon; t++) {
        const bucket = Math.floor(t / BUCKET_MINUTES);
        offered[bucket] = offered[bucket]! + book.at(row, t) * this.shareOfAmount[row]!;
      }
    }
  }

  poolOf(row: number): number {
    return this.poolOfRow[row]!;
  }

  shareOf(row: number): number {
    return this.shareOfAmount[row]!;
  }
}
