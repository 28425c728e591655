import type { BoilStep, Kettle, KettleProgram, Route, Task } from "../schemas/index.js";
import { parseInstant } from "./calendar.js";
import { lyeG } from "./trade/kettle.js";

/** What is in a kettle. */
export interface Bath {
  readonly litres: number;
  /** None: plain water. */
  readonly lyePercent: number | undefined;
  /** Lye that goes into the litres; 0 for plain water. */
  readonly lyeG: number;
}

/** A kettle is filled, or emptied and filled anew. */
export interface Filling {
  /** First: before it is lit. Clean: in a cleaning of the timetable. Unplanned: a kettle without cleaning minutes that changes its bath all the same. */
  readonly kind: "first" | "clean" | "unplanned";
  readonly start: string;
  readonly end: string;
  /** The cleaning, if it is one. */
  readonly task: Task | undefined;
  /** What was in it until then. */
  readonly before: Bath | null;
  /** What is in it from then on; null when nothing is boiled in it any more. */
  readonly bath: Bath | null;
}

export function bathOf(kettle: Pick<Kettle, "litres">, step: Pick<BoilStep, "lyePercent">): Bath {
  const { litres } = kettle;
  const { lyePercent } = step;
  return { litres, lyePercent, lyeG: lyePercent === undefined ? 0 : lyeG(litres, lyePercent) };
}

/** "plain water", "lye 3.5 %". */
export function bathName({ lyePercent }: { readonly lyePercent?: number | undefined }): string {
  return lyePercent === undefined ? "plain water" : `lye ${lyePercent} %`;
}

/** What goes in: "2.1 kg lye into 60 l cold water". */
export function bathMaking({ litres, lyePercent, lyeG }: Bath): string {
  const water = `${litres} l cold water`;
  return lyePercent === undefined ? water : `${Number((lyeG / 1000).toFixed(3))} kg lye into ${water}`;
}

/** A bath and how it is made: "lye 3.5 %: 2.1 kg lye into 60 l cold water". */
export function bathRecipe(bath: Bath): string {
  return bath.lyePercent === undefined ? `${bath.litres} l plain water` : `${bathName(bath)}: ${bathMaking(bath)}`;
}

export function isLye(bath: Bath | null): boolean {
  return bath?.lyePercent !== undefined;
}

/** Do hands meet lye in this work of a load: boiled in it, or topped and baked while it is wet with it? */
export function isWetWithLye(route: Route | undefined, does: Task["does"]): boolean {
  if (!route || (does !== "boil" && does !== "top" && does !== "bake")) return false;
  const boil = route.steps.findIndex((step) => step.does === "boil" && step.lyePercent !== undefined);
  return boil >= 0 && route.steps.findIndex((step) => step.does === does) >= boil;
}

/** Does somebody who is at the kettle from an instant to another meet lye: in it, coming in or going out? */
export function hasLyeBetween(fillings: readonly Filling[], from: string, to: string): boolean {
  const [first, last] = [secondOf(from), secondOf(to)];
  const stands = fillings.findLast(({ start }) => secondOf(start) <= first);
  if (isLye(stands?.bath ?? null)) return true;
  return fillings.some(({ start, before, bath }) => {
    const at = secondOf(start);
    return at >= first && at <= last && (isLye(before) || isLye(bath));
  });
}

function secondOf(instant: string): number {
  return parseInstant(instant) ?? 0;
}

/**
 * Every filling of a kettle, in order of time. `tasks` are those on it, in order of start; a boil whose step is not known (a timetable of another catalogue)
 * leaves what is in the kettle.
 */
export function fillingsOf(
  kettle: Pick<Kettle, "litres">,
  program: KettleProgram | undefined,
  tasks: readonly Task[],
  stepOf: (task: Task) => Pick<BoilStep, "lyePercent"> | undefined,
): Filling[] {
  const found: Filling[] = [];
  let bath = null as Bath | null;
  let cleaning: Task | undefined;
  const fill = (kind: Filling["kind"], span: { start: string; end: string }, next: Bath | null, task?: Task): void => {
    found.push({ kind, start: span.start, end: span.end, task, before: bath, bath: next });
    bath = next;
  };
  for (const task of tasks) {
    if (task.does === "clean") {
      // Cleaned twice with nothing boiled between: filled after the second only.
      if (cleaning) fill("clean", cleaning, null, cleaning);
      cleaning = task;
      continue;
    }
    const step = task.does === "boil" ? stepOf(task) : undefined;
    if (!step) continue;
    const next = bathOf(kettle, step);
    if (cleaning) fill("clean", cleaning, next, cleaning);
    else if (bath === null) {
      const lit = program?.on[0];
      fill("first", lit ? { start: lit.from, end: lit.boilsFrom } : { start: task.start, end: task.start }, next);
    } else if (bath.lyePercent !== next.lyePercent) fill("unplanned", { start: task.start, end: task.start }, next);
    cleaning = undefined;
  }
  if (cleaning) fill("clean", cleaning, null, cleaning);
  return found;
}
