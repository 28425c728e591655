import type { Changes, DayChange, DayDocuments, OrderChange, OrderRemedy, Timetable } from "../../schemas/index.js";
import { parseInstant } from "../calendar.js";
import type { Lp } from "../lp/choose.js";
import { indexDay } from "../problem/day-index.js";
import type { Candidate } from "../remedies/candidate.js";
import { heldBackWants } from "../remedies/held-back.js";
import { candidatesFor } from "../remedies/library/index.js";
import { pricesOf } from "../remedies/prices.js";
import { applyScenario, changeWords } from "../scenario/index.js";
import type { RepairOptions, RepairResult } from "./index.js";
import { wantingCost } from "./wanting.js";

/** What is tried, at most: cheapest first, so that what is dear is tried only while nothing cheaper helped. */
const MOST_TRIED = 12;
/** Tries of each when the budget is in tries. */
const TRIES = 120;
/** Each has at least so long, whatever the budget. */
const LEAST_SECONDS = 0.15;

export interface RemedyBudget {
  /** Of the whole search for remedies. */
  readonly seconds?: number;
  /** Tries instead of seconds: of each change that is tried. */
  readonly iterations?: number;
  readonly seed: number;
  readonly now: () => number;
  readonly lp: Lp;
  readonly shouldStop?: () => boolean;
  readonly onProgress?: RepairOptions["onProgress"];
}

type Repair = (day: DayDocuments, options: RepairOptions) => RepairResult;

/** How an order fares by its own due time, whatever a change says about it. */
interface Fare {
  readonly lateMinutes: number;
  readonly shortPieces: number;
}

/** Orders that the repair leaves late or short, and that were not before, or less. */
export function newlyWanting(changes: Changes): OrderChange[] {
  return changes.orders.filter(({ before, after }) => {
    if (!after || after.state === "on-time") return false;
    return !before || after.lateMinutes > before.lateMinutes || after.shortPieces > before.shortPieces;
  });
}

function touches(change: DayChange, line: string): boolean {
  return change.kind === "move-due" && (change.of?.lines ?? [line]).includes(line);
}

function cheapestFirst(candidates: readonly Candidate[]): Candidate[] {
  return candidates
    .map((candidate, i) => ({ candidate, i }))
    .sort((a, b) => a.candidate.cost - b.candidate.cost || a.i - b.i)
    .map(({ candidate }) => candidate);
}

/** What held the orders back, also the people and units that their chains waited for, as the remedies' makers read it. */
function reasonsOf(timetable: Timetable, wanting: readonly OrderChange[]): Timetable {
  const sites = new Map(timetable.tasks.map((task) => [task.id, task.site]));
  const orders = new Map(timetable.orders.map((order) => [order.line, order]));
  const own = wanting.map(({ line }) => orders.get(line)!);
  const ofChains = wanting.flatMap(({ line, because }) =>
    because.flatMap(({ task, waitsFor }) => {
      if (waitsFor !== "crew") return [];
      return [{ ...orders.get(line)!, why: { code: "crew" as const, site: sites.get(task)!, text: "people" } }];
    }),
  );
  return { ...timetable, orders: [...own, ...ofChains] };
}

/** A run that has left, or a window that has begun, can be changed no more. */
function isPast(before: DayDocuments, after: DayDocuments, changes: readonly DayChange[]): boolean {
  const { at } = indexDay(before);
  const ahead = (day: DayDocuments): number => indexDay(day).trips.filter(({ leave }) => leave >= (at ?? 0)).length;
  return changes.every(
    ({ kind }) => kind === "start-earlier" || (kind === "another-run" && ahead(after) <= ahead(before)),
  );
}

function faresIn(timetable: Timetable, dues: ReadonlyMap<string, number>): Map<string, Fare> {
  return new Map(
    timetable.orders.map(({ line, ready, shortPieces }) => {
      const due = dues.get(line);
      const at = ready === undefined ? null : parseInstant(ready);
      const late = due === undefined || at === null ? 0 : Math.max(0, Math.round((at - due) / 60));
      return [line, { lateMinutes: late, shortPieces }];
    }),
  );
}

/** A few minutes more or less are the search's luck. */
const LUCK_MINUTES = 5;

function isBetter(a: Fare, b: Fare): boolean {
  if (a.shortPieces > b.shortPieces || a.lateMinutes > b.lateMinutes) return false;
  const mends = a.shortPieces === 0 && a.lateMinutes === 0;
  const isLess = a.shortPieces < b.shortPieces || a.lateMinutes <= b.lateMinutes - LUCK_MINUTES;
  return isLess || (mends && b.lateMinutes > 0);
}

/** The better of two, part by part: what the search finds without any change. */
function bestOf(a: Fare, b: Fare | undefined): Fare {
  if (!b) return a;
  return {
    lateMinutes: Math.min(a.lateMinutes, b.lateMinutes),
    shortPieces: Math.min(a.shortPieces, b.shortPieces),
  };
}

/**
 * For each order that a repair leaves late or short: the cheapest change a planner can make with which it is on time, or else the one that helps it
 * most. Each change is one that the network program's remedies know, chosen by what held the orders back; the morning is repaired again with it, from the
 * same timetable in force, and verified. It is repaired once more without any change, too, and a change counts only when it does better than that, for
 * the order and for all orders together: what the search finds by luck is nobody's remedy.
 */
export function withRemedies(
  day: DayDocuments,
  found: Pick<RepairResult, "timetable" | "changes">,
  budget: RemedyBudget,
  repair: Repair,
): Changes {
  const { changes, timetable } = found;
  const wanting = newlyWanting(changes);
  if (wanting.length === 0) return changes;
  const held = reasonsOf(timetable, wanting);
  const maker = { day, prices: pricesOf(day), origin: indexDay(day).origin };
  const candidates = cheapestFirst(candidatesFor(heldBackWants(day, held), maker)).slice(0, MOST_TRIED);
  const dues = new Map(timetable.orders.map(({ line, due }) => [line, parseInstant(due)!]));
  const now = faresIn(timetable, dues);
  const started = budget.now();
  const secondsLeft = (): number => (budget.seconds ?? 0) - (budget.now() - started) / 1000;
  const isOver = (): boolean =>
    (budget.shouldStop?.() ?? false) || (budget.iterations === undefined && secondsLeft() <= 0);
  const again = (changed: DayDocuments, of: number): RepairResult => {
    const share = Math.max(LEAST_SECONDS, secondsLeft() / of);
    return repair(changed, {
      ...(budget.iterations === undefined ? { seconds: share } : { iterations: Math.min(TRIES, budget.iterations) }),
      seed: budget.seed,
      now: budget.now,
      lp: budget.lp,
      ...(budget.shouldStop ? { shouldStop: budget.shouldStop } : {}),
      onlyOne: true,
      withoutReasons: true,
    });
  };
  if (candidates.length === 0) return { ...changes, remediesTried: 0 };
  const control = again(day, candidates.length + 1).timetable;
  const unaided = faresIn(control, dues);
  const mostWanting = Math.min(wantingCost(timetable), wantingCost(control));
  const best = new Map<string, OrderRemedy>();
  const isMended = (line: string): boolean => best.get(line)?.mends ?? false;
  let tried = 0;
  for (const [i, { changes: made, cost }] of candidates.entries()) {
    if (isOver() || wanting.every(({ line }) => isMended(line))) break;
    const applied = applyScenario(day, { format: "scenario/1", name: "remedy", changes: [...made] as never });
    if ("issues" in applied || isPast(day, applied.day, made)) continue;
    const { timetable: other, breaches } = again(applied.day, candidates.length - i);
    tried++;
    budget.onProgress?.({ phase: "improving", iterations: 0, elapsedMs: budget.now() - started });
    if (breaches.length > 0 || wantingCost(other) > mostWanting) continue;
    const fares = faresIn(other, dues);
    const text = made.map((change) => changeWords(day, change)).join(", and ");
    for (const { line } of wanting) {
      const fare = fares.get(line);
      // To agree on another time with the customer is no remedy for that customer.
      if (!fare || isMended(line) || made.some((change) => touches(change, line))) continue;
      if (!isBetter(fare, best.get(line) ?? bestOf(now.get(line)!, unaided.get(line)))) continue;
      const mends = fare.lateMinutes === 0 && fare.shortPieces === 0;
      best.set(line, { text: text.slice(0, 600), changes: [...made] as OrderRemedy["changes"], cost, mends, ...fare });
    }
  }
  const orders = changes.orders.map((order) => {
    const remedy = best.get(order.line);
    return remedy ? { ...order, remedy } : order;
  });
  return { ...changes, orders, remediesTried: tried };
}
