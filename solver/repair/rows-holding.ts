import type { Task } from "../../schemas/index.js";
import type { Prepared } from "../problem/prepare.js";
import type { ShelfGroup } from "../problem/site-rows.js";

const positionsKnown = new WeakMap<ShelfGroup, ReadonlySet<string>>();

function positionsOf(group: ShelfGroup): ReadonlySet<string> {
  let positions = positionsKnown.get(group);
  if (!positions) {
    positions = new Set(group.positions.map(({ unit, position }) => `${unit} ${position}`));
    positionsKnown.set(group, positions);
  }
  return positions;
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
  const wanted = places.map(({ unit, position }) => `${unit} ${position}`);
  return rows.filter((row) => {
    const group = groupOf(shelves, row);
    if (!group) return places.every((place) => book.meanings[row]!.unit === place.unit);
    const positions = positionsOf(group);
    return wanted.every((place) => positions.has(place));
  });
}
