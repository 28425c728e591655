import { effect, signal } from "@preact/signals";
import type { DayDocuments, Timetable } from "../../../schemas/index.js";
import { type Plan, readPlan } from "../logic/plan.js";
import { applyEdits, asChanges, type Edit, type Scenario } from "../logic/scenario.js";
import { opened } from "../state.js";
import { run, runWith } from "./jobs.js";
import { BoardError, type DrawNews, type OpenDay } from "./types.js";

export interface Trial {
  readonly is: "running" | "done" | "failed";
  readonly edits: readonly Edit[];
  readonly news?: DrawNews;
  readonly plan?: Plan;
  readonly trouble?: BoardError;
}

const KEEP = "deck-and-shelf.scenarios";

function stored(): readonly Scenario[] {
  try {
    const value: unknown = JSON.parse(localStorage.getItem(KEEP) ?? "[]");
    return Array.isArray(value) ? (value as Scenario[]) : [];
  } catch {
    return [];
  }
}

/** What is imagined is kept on this device; timetables drawn for it only as long as the page is open. */
export const scenarios = signal<readonly Scenario[]>(stored());
export const trials = signal<ReadonlyMap<string, Trial>>(new Map());
effect(() => localStorage.setItem(KEEP, JSON.stringify(scenarios.value)));

function setTrial(id: string, trial: Trial | undefined): void {
  const next = new Map(trials.value);
  if (trial) next.set(id, trial);
  else next.delete(id);
  trials.value = next;
}

export function addScenario(name: string, edits: readonly Edit[]): string {
  const id = crypto.randomUUID();
  scenarios.value = [...scenarios.value, { id, name, edits }];
  return id;
}

export function changeScenario(id: string, change: Partial<Scenario>): void {
  scenarios.value = scenarios.value.map((scenario) => (scenario.id === id ? { ...scenario, ...change } : scenario));
}

export function removeScenario(id: string): void {
  scenarios.value = scenarios.value.filter((scenario) => scenario.id !== id);
  setTrial(id, undefined);
}

/** A timetable for a scenario whose changes only the server can apply. */
async function drawChanged(
  day: OpenDay,
  scenario: Scenario,
  seconds: number,
  onNews: (news: DrawNews) => void,
): Promise<Timetable> {
  const changes = asChanges(scenario.edits);
  if (!changes)
    throw new BoardError(
      "A remedy cannot be drawn up together with these other changes.",
      "Take the others out, or make a scenario of its own for each.",
    );
  const request = { scenarios: [{ format: "scenario/1", name: scenario.name, changes }], seconds };
  const job = await run<{ drawn: { side: number; timetable: Timetable }[] }>(day.id, "compare", request, { onNews });
  const { drawn } = await job.done;
  return drawn.find(({ side }) => side === 1)!.timetable;
}

/** Has the server draw up a scenario: its documents go along with the request, the stored day is not touched. */
export async function tryScenario(scenario: Scenario, seconds: number): Promise<void> {
  const day = opened.value;
  if (!day) return;
  const { edits } = scenario;
  const documents: DayDocuments = applyEdits(day.documents, edits);
  const onNews = (news: DrawNews): void => setTrial(scenario.id, { is: "running", edits, news });
  setTrial(scenario.id, { is: "running", edits });
  try {
    const timetable = edits.some((edit) => edit.kind === "change")
      ? await drawChanged(day, scenario, seconds, onNews)
      : (await (await runWith<{ timetable: Timetable }>("draw", documents, { seconds }, { onNews })).done).timetable;
    setTrial(scenario.id, { is: "done", edits, plan: readPlan(documents, timetable) });
  } catch (error) {
    const trouble = error instanceof BoardError ? error : new BoardError((error as Error).message);
    setTrial(scenario.id, { is: "failed", edits, trouble });
  }
}
