import type { Place, Task } from "../../schemas/index.js";
import type { BegunTask, RowUse } from "../problem/begun.js";
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

const NO_ROWS = new Int32Array(0);
const NO_SHELVES: readonly ShelfGroup[] = [];

/** Can a row be where the items of a task are? */
export function isHolding(prepared: Prepared, row: number, { site, places }: Task): boolean {
  if (!places || places.length === 0) return true;
  const { request, book } = prepared;
  const group = groupOf(request.rows.get(site)?.shelves ?? NO_SHELVES, row);
  return group ? areIn(positionsOf(group), places) : areOn(book.meanings[row]!.unit, places);
}

/** The rows that can be where the items already are; empty when they are spread over several. */
export function rowsHolding(prepared: Prepared, rows: Int32Array, task: Task): Int32Array {
  if (!task.places || task.places.length === 0) return rows;
  let held = 0;
  for (const row of rows) if (isHolding(prepared, row, task)) held++;
  if (held === 0) return NO_ROWS;
  const holding = new Int32Array(held);
  let at = 0;
  for (const row of rows) if (isHolding(prepared, row, task)) holding[at++] = row;
  return holding;
}

/** What items that are spread over shelves of several rows take of each, until they are carried elsewhere. */
export function spreadUses(
  { request }: Prepared,
  rows: Int32Array,
  { task: { site, places = [] }, start, carriedAt }: BegunTask,
): RowUse[] {
  const uses: RowUse[] = [];
  if (carriedAt === undefined || carriedAt <= start) return uses;
  for (const row of rows) {
    const group = groupOf(request.rows.get(site)?.shelves ?? NO_SHELVES, row);
    if (!group) continue;
    const positions = positionsOf(group);
    const amount = places.filter(({ unit, position }) => positions.get(unit)?.has(position)).length;
    if (amount > 0) uses.push({ row, from: start, to: carriedAt, amount });
  }
  return uses;
}

function areOn(unit: string | undefined, places: readonly Place[]): boolean {
  for (const place of places) if (place.unit !== unit) return false;
  return true;
}

function areIn(positions: Positions, places: readonly Place[]): boolean {
  for (const { unit, position } of places) if (!positions.get(unit)?.has(position)) return false;
  return true;
}
