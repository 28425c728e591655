import type { DayDocuments, Timetable } from "../../../schemas/index.js";
import { type Breach, verify } from "../../../solver/verify/index.js";
import { dayForMoves, type HandMove, judge, type Verdict } from "../logic/hand-move.js";
import { type Plan, readPlan } from "../logic/plan.js";

/** Judges moves beside the page, so that a drag never stutters. First the day and timetable, then moves; each answered by its number. */
export type ToChecker =
  | { readonly kind: "plan"; readonly day: DayDocuments; readonly timetable: Timetable }
  | { readonly kind: "move"; readonly number: number; readonly move: HandMove };
export interface FromChecker {
  readonly number: number;
  readonly verdict: Verdict;
}

let plan: Plan | undefined;
let before: readonly Breach[] = [];

self.addEventListener("message", (event: MessageEvent<ToChecker>) => {
  const message = event.data;
  if (message.kind === "plan") {
    plan = readPlan(message.day, message.timetable);
    before = verify(dayForMoves(plan), message.timetable);
  } else if (plan) {
    const answer: FromChecker = { number: message.number, verdict: judge(plan, message.move, before) };
    self.postMessage(answer);
  }
});
