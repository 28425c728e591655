import type { Task } from "../../schemas/index.js";
import type { Facts } from "./facts.js";
import { inForceFacts } from "./in-force.js";
import { instantSeconds, whenMinute } from "./time.js";

/**
 * D24: may the lock or the wish of a task of the timetable in force have been given up? Yes, where what happened leaves nothing to hold: its load is thrown
 * away, or gone because nobody wants it any more; its time (`from`: epoch minute) is past and it has not begun; or the unit that it is to be on (`unit`) is out
 * of service then.
 */
export function isGivenUp(facts: Facts, task: Task | undefined, unit: string | undefined, from: number): boolean {
  if (!task || facts.at === null) return false;
  if (from < facts.at) return true;
  const minutes = (instantSeconds(task.end) - instantSeconds(task.start)) / 60;
  return isUnneeded(facts, task) || isOut(facts, unit, from, from + minutes);
}

function isUnneeded(facts: Facts, { load, batch }: Task): boolean {
  if (load !== undefined) return isLoadUnneeded(facts, load);
  if (batch === undefined) return false;
  const own = inForceFacts(facts.day.inForce!).loads;
  for (const other of own.values()) if (other.batch === batch && !isLoadUnneeded(facts, other.id)) return false;
  return true;
}

function isLoadUnneeded(facts: Facts, id: string): boolean {
  const now = facts.timetable.loads.find((load) => load.id === id);
  if (now) return now.scrapped !== undefined;
  const served = inForceFacts(facts.day.inForce!).loads.get(id)?.orders ?? [];
  return served.every(({ line }) => !facts.lines.has(line) || facts.outcomes.get(line)?.shortPieces === 0);
}

function isOut(facts: Facts, unit: string | undefined, from: number, to: number): boolean {
  if (unit === undefined) return false;
  const zone = facts.sites.get(unit.split("/")[0]!)?.timeZone ?? "UTC";
  return facts.day.happenings.happenings.some((happening) => {
    if (happening.kind !== "out-of-service") return false;
    if (unit !== happening.unit && !unit.startsWith(`${happening.unit}/`)) return false;
    const until = happening.to === undefined ? Number.POSITIVE_INFINITY : whenMinute(happening.to, zone);
    return whenMinute(happening.from, zone) < to && from < until;
  });
}
