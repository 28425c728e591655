import { MINUTE, msOf } from "./clock.js";
import type { Card } from "./station-card.js";

export type CardState = "waiting" | "started" | "finished";

/** How far each task is: the last word on it counts, but a start that was sent late does not undo the finish that followed it. */
export function statesOf(
  marks: readonly { readonly what: "started" | "finished" | "trouble"; readonly task: string; readonly at: string }[],
): Map<string, CardState> {
  const states = new Map<string, CardState>();
  const finishedMs = new Map<string, number>();
  for (const { what, task, at } of marks) {
    if (what === "trouble") continue;
    const ms = msOf(at);
    if (what === "started" && ms <= (finishedMs.get(task) ?? Number.NEGATIVE_INFINITY)) continue;
    if (what === "finished") finishedMs.set(task, ms);
    states.set(task, what);
  }
  return states;
}

export interface Board {
  /** Begun, or to be begun now. */
  readonly now: readonly Card[];
  readonly next: readonly Card[];
  /** Over by the timetable, yet never marked finished. */
  readonly missed: readonly Card[];
}

const SOON = 2 * MINUTE;
const FORGIVEN = 20 * MINUTE;

/** Sorts a station's cards into what is now, what comes, and what was never marked. */
export function boardOf(cards: readonly Card[], states: ReadonlyMap<string, CardState>, nowMs: number): Board {
  const now: Card[] = [];
  const next: Card[] = [];
  const missed: Card[] = [];
  for (const one of cards) {
    const state = one.task ? states.get(one.task) : undefined;
    if (state === "finished") continue;
    if (state === "started") now.push(one);
    else if (one.toMs < nowMs - FORGIVEN || (one.task === undefined && one.toMs < nowMs - SOON)) {
      if (one.task ?? one.discards) missed.push(one);
    } else if (one.fromMs <= nowMs + SOON) now.push(one);
    else next.push(one);
  }
  // What is nearest in time first; work that goes on before all. What stands somewhere waits in its turn: a full fridge would leave no room for what is to be put in.
  const rank = (one: Card): number => {
    if (one.task === undefined || states.get(one.task) !== "started") return Math.abs(one.fromMs - nowMs);
    return one.stands ? Math.abs(one.toMs - nowMs) : one.toMs - 1e15;
  };
  now.sort((a, b) => rank(a) - rank(b) || a.id.localeCompare(b.id));
  return { now, next, missed };
}

/** "in 12 min", "now", "4 min over". */
export function countdown(fromMs: number, nowMs: number): { readonly text: string; readonly isOver: boolean } {
  const minutes = Math.round((fromMs - nowMs) / MINUTE);
  if (minutes === 0) return { text: "now", isOver: false };
  const size = Math.abs(minutes);
  const text = size < 60 ? `${size} min` : `${Math.floor(size / 60)} h ${String(size % 60).padStart(2, "0")}`;
  return minutes > 0 ? { text: `in ${text}`, isOver: false } : { text: `${text} over`, isOver: true };
}
