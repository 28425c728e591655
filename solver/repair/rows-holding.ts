import type { Place, Task } from "../../schemas/index.js";
import type { Prepared } from "../problem/prepare.js";
import type { ShelfGroup } from "../problem/site-rows.js";

/** Positions by unit. */
type Positions = ReadonlyMap<string, ReadonlySet<number>>;

const positionsKnown = new WeakMap<ShelfGroup, Positions>();

function positionsOf(group: ShelfGroup): Positions {
  let positions = positionsKnown.get(group);
  if (!positions) {
    positions = byUnit(group);
    positionsKnown.set(group, positions);
  }
  return positions;
}

function byUnit(group: ShelfGroup): Positions {
  const found = new Map<string, Set<number>>();
  for (const { unit, position } of group.positions) {
    const own = found.get(unit);
    if (own) own.add(position);
    else found.set(unit, new Set([position]));
  }
  return found;
}

const groupsKnown = new WeakMap<readonly ShelfGroup[], ReadonlyMap<number, ShelfGroup>>();

function groupOf(shelves: readonly ShelfGroup[], row: number): ShelfGroup | undefined {
  let groups = groupsKnown.get(shelves);
  if (!groups) {
    groups = new Map(shelves.map((group) => [group.row, group]));
    groupsKnown.set(shelves, groups);
  }
  return groups.get(row);
}

/** The rows that can be where the items already are; empty when they are spread over several. */
export function rowsHolding(prepared: Prepared, rows: Int32Array, task: Task): Int32Array {
  const places = task.places ?? [];
  if (places.length === 0) return rows;
  const { request, book } = prepared;
  const shelves = request.rows.get(task.site)?.shelves ?? [];
  let held = 0;
  const holding = new Int32Array(rows.length);
  for (const row of rows) {
    const group = groupOf(shelves, row);
    if (group ? areIn(positionsOf(group), places) : areOn(book.meanings[row]!.unit, places)) holding[held++] = row;
  }
  return holding.slice(0, held);
}

function areOn(unit: string | undefined, places: readonly Place[]): boolean {
  for (const place of places) if (place.unit !== unit) return false;
  return true;
}

function areIn(positions: Positions, places: readonly Place[]): boolean {
  for (const { unit, position } of places) if (!positions.get(unit)?.has(position)) return false;
  return true;
}
