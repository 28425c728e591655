import type { DayDocuments, Task, Timetable } from "../../../schemas/index.js";
import { type Breach, verify } from "../../../solver/verify/index.js";
import { type Moved, moveInChain, withMoves } from "./chain.js";
import { instantText, MINUTE, msOf } from "./clock.js";
import type { Pin } from "./pins.js";
import type { Plan } from "./plan.js";
import { zoneOf } from "./plan.js";
import { seatsFor } from "./seats.js";

/** A task moved by hand: to a start, and to another unit if one is given. */
export interface HandMove {
  readonly task: string;
  readonly startMs: number;
  readonly unit?: string;
}

export interface Objection {
  readonly rule: Breach["rule"];
  readonly code: string;
  readonly message: string;
  readonly tasks: readonly string[];
  /** How many breaches of the kind there are; the first is told. */
  readonly times: number;
}

export interface Verdict {
  /** allowed: as it is; pushes: only if other loads give way; refused: whatever the others do. */
  readonly is: "allowed" | "pushes" | "refused";
  readonly objections: readonly Objection[];
  /** Other tasks of the same load or batch that are drawn along. */
  readonly drawnAlong: readonly string[];
  /** Loads that would have to give way. */
  readonly inTheWay: readonly string[];
  /** Minutes by which orders would become (more) late. */
  readonly late: readonly { readonly line: string; readonly minutes: number }[];
}

/** Sums over the timetable and the lighting of heaters: a repair sets them anew, so they are no objection to a move. */
const SET_ANEW = new Set([
  "form cost",
  "form bound",
  "R13 ready",
  "R13 late-minutes",
  "R13 state",
  "R10 no-preheat",
  "R10 not-hot",
  "R10 hot-too-soon",
  "R8 heat-up",
  "R8 not-hot",
]);

/** The same work on another unit of the kind; a task can be moved in time only if it is worked. */
export function canMove(task: Task, pin?: Pin): boolean {
  return pin !== "lock" && ["mix", "shape", "boil", "top", "bake", "pack"].includes(task.does);
}

/** The tasks as they would be. */
export function movedTasks(plan: Plan, move: HandMove): Task[] {
  const moves = moveInChain(plan, move.task, move.startMs);
  const without = new Set(moves.keys());
  const found: Task[] = [];
  for (const [id, times] of moves) {
    const planned = plan.byId.get(id)!;
    const zone = zoneOf(plan, planned.site);
    const isTarget = id === move.task;
    const moved: Moved = isTarget && move.unit ? { ...times, unit: move.unit } : times;
    const shift = times.fromMs - planned.fromMs;
    const places = seatsFor(plan, planned, moved, without);
    found.push({
      ...planned.task,
      start: instantText(zone, times.fromMs),
      end: instantText(zone, times.toMs),
      ...(moved.unit && planned.task.unit ? { unit: moved.unit } : {}),
      ...(places ? { places } : {}),
      ...(planned.task.dips
        ? {
            dips: planned.task.dips.map((dip) => ({
              ...dip,
              start: new Date(msOf(dip.start) + shift).toISOString().replace(".000Z", "+00:00"),
            })),
          }
        : {}),
    });
  }
  return found;
}

/** Pins speak of the timetable as it is; where the moved task was held before counts no more. */
export function dayForMoves({ day, timetable }: Plan, move?: HandMove): DayDocuments {
  const { happenings } = day;
  const kept = happenings.happenings.filter(
    ({ kind, ...rest }) => !(kind === "hold" && "task" in rest && rest.task === move?.task),
  );
  return { ...day, inForce: timetable, happenings: { ...happenings, happenings: kept } };
}

const keyOf = (breach: Breach): string => `${breach.rule} ${breach.code} ${breach.message}`;

/** Judges a move by the rules, without changing anything. `before` are the breaches that the timetable has anyway (usually none). */
export function judge(plan: Plan, move: HandMove, before: readonly Breach[] = []): Verdict {
  const tasks = movedTasks(plan, move);
  const timetable: Timetable = withMoves(plan.timetable, tasks);
  const known = new Set(before.map(keyOf));
  const breaches = verify(dayForMoves(plan, move), timetable).filter(
    (breach) => !known.has(keyOf(breach)) && !SET_ANEW.has(`${breach.rule} ${breach.code}`),
  );
  const target = plan.byId.get(move.task);
  const own = new Set(tasks.map((task) => task.id));
  for (const task of plan.byLoad.get(target?.load?.id ?? "") ?? []) own.add(task.id);
  const inTheWay = new Set<string>();
  let refused = false;
  const isOwn = (breach: Breach): boolean => breach.tasks.every((id) => own.has(id));
  breaches.sort((a, b) => Number(isOwn(b)) - Number(isOwn(a)));
  for (const breach of breaches) {
    const others = breach.tasks.filter((id) => !own.has(id));
    if (others.length === 0) refused = true;
    for (const id of others) inTheWay.add(plan.byId.get(id)?.load?.id ?? plan.byId.get(id)?.batch?.id ?? id);
  }
  return {
    is: breaches.length === 0 ? "allowed" : refused ? "refused" : "pushes",
    objections: objectionsOf(breaches),
    drawnAlong: tasks.map((task) => task.id).filter((id) => id !== move.task),
    inTheWay: [...inTheWay],
    late: lateness(plan, tasks),
  };
}

/** One objection a kind, in the order of the breaches; what is wrong with the day's form (outside its window) after the rules. */
function objectionsOf(breaches: readonly Breach[]): Objection[] {
  const kinds = new Map<string, Objection>();
  for (const { rule, code, message, tasks } of breaches) {
    const key = `${rule} ${code}`;
    const known = kinds.get(key);
    kinds.set(key, known ? { ...known, times: known.times + 1 } : { rule, code, message, tasks, times: 1 });
  }
  return [...kinds.values()].sort((a, b) => Number(a.rule === "form") - Number(b.rule === "form"));
}

function lateness(plan: Plan, tasks: readonly Task[]): { line: string; minutes: number }[] {
  const found: { line: string; minutes: number }[] = [];
  const loads = new Set(tasks.map((task) => task.load).filter((id) => id !== undefined));
  for (const id of loads) {
    const last = plan.byLoad.get(id)?.at(-1);
    const moved = tasks.find((task) => task.id === last?.id);
    if (!last || !moved) continue;
    for (const share of plan.loads.get(id)?.orders ?? []) {
      const outcome = plan.outcomes.get(share.line);
      if (!outcome) continue;
      const minutes = Math.round((msOf(moved.end) - msOf(outcome.due)) / MINUTE);
      if (minutes > outcome.lateMinutes && minutes > 0) found.push({ line: share.line, minutes });
    }
  }
  return found;
}
