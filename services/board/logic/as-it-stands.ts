import type { Happening, Happenings } from "../../../schemas/index.js";
import { isMarked } from "../../marks/mark.js";
import { msOf } from "./clock.js";

/** How far a task is. */
const REPORTS: ReadonlySet<Happening["kind"]> = new Set(["started", "finished", "running", "not-started"]);

function subjectOf(happening: Happening): string {
  const { kind, task, load, batch, unit } = happening as Happening &
    Partial<Record<"task" | "load" | "batch" | "unit", string>>;
  return `${kind} ${task ?? load ?? batch ?? unit ?? ""}`;
}

/** Said by a station, of how far a task is: there is one for nearly every task, and the news from the kitchen show them. */
export function isMarkedReport(happening: Happening): boolean {
  return isMarked(happening) && REPORTS.has(happening.kind);
}

/**
 * How things stand: what the server makes of the day and its marks, and what the planner adds. Where both speak of the same thing the planner's word counts; pieces may be
 * lost twice, so there each word stands for one mark. `now`: by this screen's clock, when it lies in the day.
 */
export function asItStands(told: Happenings, own: readonly Happening[], now: string | undefined): Happenings {
  const said = new Map<string, number>();
  for (const one of own) said.set(subjectOf(one), (said.get(subjectOf(one)) ?? 0) + 1);
  const kept = told.happenings.filter((one) => {
    const left = said.get(subjectOf(one)) ?? 0;
    if (!isMarked(one) || left === 0) return true;
    if (!REPORTS.has(one.kind)) said.set(subjectOf(one), left - 1);
    return false;
  });
  const at = [told.at, now].flatMap((one) => (one === undefined ? [] : [one])).sort((a, b) => msOf(b) - msOf(a))[0];
  return { ...told, ...(at === undefined ? {} : { at }), happenings: [...kept, ...own] };
}

/** Without who said it: so it is the planner's own word. */
export function inOwnWords(happening: Happening): Happening {
  const { note, ...rest } = happening as Happening & { note?: string };
  return rest as Happening;
}

/** Whether a list has this already, whoever said it. */
export function isAmong(happening: Happening, list: readonly Happening[]): boolean {
  const text = (one: Happening): string => JSON.stringify(inOwnWords(one));
  return list.some((one) => text(one) === text(happening));
}
