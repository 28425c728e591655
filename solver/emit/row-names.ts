import type { Problem } from "../problem/index.js";
import type { Prepared } from "../problem/prepare.js";

/** Named positions behind a row of the search. */
export type PositionNames = readonly { readonly unit: string; readonly position: number }[];

function numbered(unit: string, count: number): PositionNames {
  return Array.from({ length: count }, (_, i) => ({ unit, position: i + 1 }));
}

/** The positions of a row, and where each is in the list: written out when a load stands there. */
export class RowNames {
  private knownNames: PositionNames | undefined;
  private knownNumbers: Map<string, Map<number, number>> | undefined;

  /** So many positions of a unit, or those that are listed. */
  constructor(
    private readonly unit: string,
    private readonly count: number,
    listed?: PositionNames,
  ) {
    this.knownNames = listed;
  }

  get names(): PositionNames {
    this.knownNames ??= numbered(this.unit, this.count);
    return this.knownNames;
  }

  /** Where a position is in the list; -1: it is not on the row. */
  numberOf({ unit, position }: PositionNames[number]): number {
    this.knownNumbers ??= numbersOf(this.names);
    return this.knownNumbers.get(unit)?.get(position) ?? -1;
  }
}

/** By unit and position. */
function numbersOf(names: PositionNames): Map<string, Map<number, number>> {
  const numbers = new Map<string, Map<number, number>>();
  for (let p = 0; p < names.length; p++) {
    const { unit, position } = names[p]!;
    const own = numbers.get(unit);
    if (own) own.set(position, p);
    else numbers.set(unit, new Map([[position, p]]));
  }
  return numbers;
}

const namesKnown = new WeakMap<Prepared, (RowNames | undefined)[]>();

/** By row: the positions that it counts. Rows that count something else are missing. */
export function namesByRow({ prepared }: Problem): (RowNames | undefined)[] {
  const known = namesKnown.get(prepared);
  if (known) return known;
  const names: (RowNames | undefined)[] = new Array(prepared.book.meanings.length).fill(undefined);
  namesKnown.set(prepared, names);
  for (const { site, shelves, proofers, racks, decks } of prepared.request.rows.values()) {
    for (const { row, positions } of shelves) names[row] = new RowNames("", 0, positions);
    for (const { id, positions } of site.proofers)
      names[proofers.get(id)!] = new RowNames(`${site.id}/${id}`, positions);
    for (const { id, positions } of site.racks) names[racks.get(id)!] = new RowNames(`${site.id}/${id}`, positions);
    for (const { row, unit, positions } of decks) names[row] = new RowNames(unit, positions);
  }
  return names;
}
