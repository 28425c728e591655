import type { Place } from "../../schemas/index.js";
import type { Problem } from "../problem/index.js";
import type { MadeLoad, Take } from "./context.js";

/** Named positions behind a row of the search. */
type PositionNames = readonly { readonly unit: string; readonly position: number }[];

function numbered(unit: string, count: number): PositionNames {
  return Array.from({ length: count }, (_, i) => ({ unit, position: i + 1 }));
}

/** By row: the positions that it counts. Rows that count something else are missing. */
function namesByRow(problem: Problem): Map<number, PositionNames> {
  const names = new Map<number, PositionNames>();
  for (const { site, shelves, proofers, racks, decks } of problem.prepared.request.rows.values()) {
    for (const group of shelves) names.set(group.row, group.positions);
    for (const proofer of site.proofers)
      names.set(proofers.get(proofer.id)!, numbered(`${site.id}/${proofer.id}`, proofer.positions));
    for (const rack of site.racks) names.set(racks.get(rack.id)!, numbered(`${site.id}/${rack.id}`, rack.positions));
    for (const deck of decks) names.set(deck.row, numbered(deck.unit, deck.positions));
  }
  return names;
}

interface Stay extends Take {
  readonly load: number;
}

/**
 * Gives every tub and pan one named position for each of its stays. On a row all positions are alike and in service together, so taking stays
 * in order of start and the lowest free position never runs out: an interval graph needs no more colours than its
 * largest clique, and the search has kept that within the row's count.
 */
export class PositionBook {
  private readonly given = new Map<string, { unit: string; position: number }[]>();

  constructor(problem: Problem, loads: readonly MadeLoad[]) {
    const names = namesByRow(problem);
    const byRow = new Map<number, Stay[]>();
    for (const load of loads) {
      for (const take of load.takes) {
        if (!names.has(take.row)) continue;
        const stays = byRow.get(take.row) ?? [];
        stays.push({ ...take, load: load.number });
        byRow.set(take.row, stays);
      }
    }
    for (const [row, stays] of byRow) this.assign(row, names.get(row)!, stays);
  }

  private assign(row: number, names: PositionNames, stays: Stay[]): void {
    stays.sort((a, b) => a.from - b.from || a.to - b.to || a.load - b.load);
    const freeFrom = new Int32Array(names.length);
    for (const stay of stays) {
      const chosen: { unit: string; position: number }[] = [];
      for (let p = 0; p < names.length && chosen.length < stay.amount; p++) {
        if (freeFrom[p]! > stay.from) continue;
        freeFrom[p] = stay.to;
        chosen.push(names[p]!);
      }
      if (chosen.length < stay.amount) throw new Error(`positions of row ${row} ran out at minute ${stay.from}`);
      this.given.set(`${stay.load} ${row} ${stay.from}`, chosen);
    }
  }

  /** Places of a load's items on one of the rows from a minute on; empty for a stay of no length. */
  places(load: MadeLoad, rows: Int32Array | readonly number[], from: number, items: readonly string[]): Place[] {
    for (const row of rows) {
      const chosen = this.given.get(`${load.number} ${row} ${from}`);
      if (chosen) return items.map((item, i) => ({ item, ...chosen[i]! }));
    }
    return [];
  }
}
