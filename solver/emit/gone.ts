import type { DayDocuments, Timetable } from "../../schemas/index.js";

/** Ids of tasks, loads and batches that happenings name. */
function namedIn({ happenings }: DayDocuments["happenings"]): Set<string> {
  const named = new Set<string>();
  for (const happening of happenings) {
    const { task, load, batch } = happening as { task?: string; load?: string; batch?: string };
    for (const id of [task, load, batch]) if (id !== undefined) named.add(id);
  }
  return named;
}

/**
 * What happenings name and the timetable in force has, or had before, and this one has no more: beside it, what was told of them is no mistake. What was gone stays
 * in the list whatever is told later, so that a repair without news changes nothing.
 */
export function goneSince({ inForce, happenings }: DayDocuments, now: Timetable): string[] {
  if (!inForce) return [];
  const { gone = [] } = inForce;
  const named = namedIn(happenings);
  for (const id of gone) named.add(id);
  if (named.size === 0) return [];
  for (const list of [now.tasks, now.loads, now.batches]) for (const { id } of list) named.delete(id);
  if (named.size === 0) return [];
  const before = new Set(gone);
  for (const list of [inForce.tasks, inForce.loads, inForce.batches])
    for (const { id } of list) if (named.has(id)) before.add(id);
  return [...before].filter((id) => named.has(id)).sort();
}
