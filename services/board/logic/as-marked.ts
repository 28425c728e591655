import { progressOf } from "../../marks/progress.js";
import { MINUTE } from "./clock.js";
import type { CardState } from "./kitchen-board.js";
import type { Plan } from "./plan.js";
import type { Card } from "./station-card.js";
import { THROWN, type Told } from "./trouble.js";

/**
 * A station's cards with the times that were marked: what was begun is over so long after its real start as it takes, not when the timetable had it. What stands somewhere
 * is one card once it is there: to be taken out.
 */
export function asMarked(
  plan: Plan,
  cards: readonly Card[],
  marks: readonly Told[],
  states: ReadonlyMap<string, CardState>,
): Card[] {
  const byTask = new Map<string, Told[]>();
  for (const mark of marks) byTask.set(mark.task, [...(byTask.get(mark.task) ?? []), mark]);
  return cards.flatMap((card): Card[] => {
    if (card.discards !== undefined)
      return byTask.get(card.discards)?.some(({ note }) => note === THROWN) ? [] : [card];
    const id = card.task ?? card.outOf;
    const state = id === undefined ? undefined : states.get(id);
    if (state === undefined || state === "waiting") return [card];
    if (card.task === undefined) return [];
    const task = plan.byId.get(card.task)!.task;
    const { start, end } = progressOf(task, byTask.get(card.task) ?? []);
    if (state !== "started" || start === undefined) return [card];
    return [
      {
        ...card,
        fromMs: start * MINUTE,
        toMs: end * MINUTE,
        ...(card.after === undefined ? {} : { verb: card.after }),
      },
    ];
  });
}
