import { effect, signal } from "@preact/signals";
import type { DayChange, Scenario, Timetable } from "../../../schemas/index.js";
import { CannotChange } from "../../../solver/scenario/change.js";
import { type Plan, readPlan } from "../logic/plan.js";
import { imagined, type KeptScenario } from "../logic/scenario.js";
import { opened } from "../state.js";
import { type Run, runWith } from "./jobs.js";
import { BoardError, type DrawNews } from "./types.js";

/** A scenario that is or was drawn up. */
export interface Trial {
  readonly is: "running" | "done" | "failed";
  readonly changes: readonly DayChange[];
  readonly seconds: number;
  readonly news?: DrawNews;
  /** The best timetable so far, or the last one. */
  readonly plan?: Plan;
  readonly trouble?: BoardError;
  readonly run?: Run<{ timetable: Timetable }>;
}

const KEEP = "deck-and-shelf.scenarios";

function isKept(value: unknown): value is KeptScenario {
  const { id, document } = (value ?? {}) as Partial<KeptScenario>;
  return typeof id === "string" && Array.isArray(document?.changes);
}

function stored(): readonly KeptScenario[] {
  try {
    const value: unknown = JSON.parse(localStorage.getItem(KEEP) ?? "[]");
    return Array.isArray(value) ? value.filter(isKept) : [];
  } catch {
    return [];
  }
}

/** What is imagined is kept on this device; timetables drawn for it only as long as the page is open. */
export const scenarios = signal<readonly KeptScenario[]>(stored());
export const trials = signal<ReadonlyMap<string, Trial>>(new Map());
effect(() => localStorage.setItem(KEEP, JSON.stringify(scenarios.value)));

function setTrial(id: string, trial: Trial | undefined): void {
  const next = new Map(trials.value);
  if (trial) next.set(id, trial);
  else next.delete(id);
  trials.value = next;
}

/** A name that no other scenario has. */
function freshName(name: string): string {
  const taken = new Set(scenarios.value.map(({ document }) => document.name));
  for (let n = 1; ; n++) {
    const candidate = n === 1 ? name : `${name.slice(0, 90)} (${n})`;
    if (!taken.has(candidate)) return candidate;
  }
}

export function keepScenario(document: Scenario): KeptScenario {
  const kept = { id: crypto.randomUUID(), document: { ...document, name: freshName(document.name) } };
  scenarios.value = [...scenarios.value, kept];
  return kept;
}

export function addScenario(words: string, changes: readonly DayChange[]): KeptScenario {
  const name = `${words.charAt(0).toUpperCase()}${words.slice(1, 100)}`;
  return keepScenario({ format: "scenario/1", name, changes: [...changes] });
}

export function changeScenario(id: string, change: Partial<Pick<Scenario, "name" | "changes">>): void {
  scenarios.value = scenarios.value.map((kept) =>
    kept.id === id ? { ...kept, document: { ...kept.document, ...change } } : kept,
  );
}

export function removeScenario(id: string): void {
  void trials.value.get(id)?.run?.stop();
  scenarios.value = scenarios.value.filter((kept) => kept.id !== id);
  setTrial(id, undefined);
}

function troubleOf(error: unknown): BoardError {
  if (error instanceof BoardError) return error;
  if (error instanceof CannotChange) return new BoardError(error.message, error.fix);
  return new BoardError((error as Error).message);
}

/** Has the server draw up a scenario: the changed documents go along with the request, the stored day is not touched. */
export async function tryScenario({ id, document }: KeptScenario, seconds: number): Promise<void> {
  const day = opened.value;
  if (!day || trials.value.get(id)?.is === "running") return;
  const { changes } = document;
  const set = (is: Trial["is"], more: Partial<Trial>): void => {
    // Taken away while it was drawn up.
    if (!scenarios.value.some((kept) => kept.id === id)) return;
    setTrial(id, { ...trials.value.get(id), is, changes, seconds, ...more });
  };
  setTrial(id, { is: "running", changes, seconds });
  try {
    const documents = imagined(day.documents, changes);
    const run = await runWith<{ timetable: Timetable }>(
      "draw",
      documents,
      { seconds },
      {
        onNews: (news) => set("running", { news }),
        onTimetable: (timetable) => set("running", { plan: readPlan(documents, timetable) }),
      },
    );
    set("running", { run });
    const { timetable } = await run.done;
    set("done", { plan: readPlan(documents, timetable) });
  } catch (error) {
    set("failed", { trouble: troubleOf(error) });
  }
}
