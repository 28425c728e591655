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
  /** By unit: where its first position is. */
  private knownFirsts: Map<string, number> | undefined;

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
    const { names } = this;
    this.knownFirsts ??= firstsOf(names);
    const first = this.knownFirsts.get(unit);
    if (first === undefined) return -1;
    // A unit's positions mostly follow each other.
    const likely = first + position - names[first]!.position;
    if (isAt(names[likely], unit, position)) return likely;
    for (let p = first; p < names.length; p++) if (isAt(names[p], unit, position)) return p;
    return -1;
  }
}

function isAt(name: PositionNames[number] | undefined, unit: string, position: number): boolean {
  return name !== undefined && name.position === position && name.unit === unit;
}

function firstsOf(names: PositionNames): Map<string, number> {
  const firsts = new Map<string, number>();
  let last: string | undefined;
  for (let p = 0; p < names.length; p++) {
    const { unit } = names[p]!;
    if (unit !== last && !firsts.has(unit)) firsts.set(unit, p);
    last = unit;
  }
  return firsts;
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
