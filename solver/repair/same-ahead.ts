import type { Timetable } from "../../schemas/index.js";
import { parseInstant } from "../calendar.js";

type Programs = Pick<Timetable, "ovenProgram" | "kettleProgram">;

/** Are the programs of ovens and kettles the same from an instant on? What they were before is over: what was hot for longer than its loads ask was hot. `at`: epoch seconds. */
export function sameProgramsAhead(before: Programs, after: Programs, at: number): boolean {
  return aheadOf(before, at) === aheadOf(after, at);
}

function aheadOf({ ovenProgram, kettleProgram }: Programs, at: number): string {
  const isAhead = (instant: string): boolean => parseInstant(instant)! >= at;
  const spans = <On extends { readonly from: string; readonly to: string }>(on: readonly On[]): unknown[] =>
    on.filter(({ to }) => isAhead(to)).map((span) => (isAhead(span.from) ? span : { to: span.to }));
  const ahead: unknown[] = [];
  for (const { deck, on, setpoints } of ovenProgram) {
    const own = spans(on);
    if (own.length === 0) continue;
    const next = setpoints.filter((point) => isAhead(point.at));
    // What is hot at the instant has been set before it.
    const isOn = on.some(({ from, to }) => !isAhead(from) && isAhead(to));
    const now = isOn ? setpoints.findLast((point) => !isAhead(point.at)) : undefined;
    ahead.push({ deck, own, next, now: now?.tempC });
  }
  for (const { kettle, on } of kettleProgram) {
    const own = spans(on);
    if (own.length > 0) ahead.push({ kettle, own });
  }
  return JSON.stringify(ahead);
}
