import { computed, signal } from "@preact/signals";
import type { Happening, Timetable } from "../../../schemas/index.js";
import { changesBetween } from "../logic/changes.js";
import { readPlan } from "../logic/plan.js";
import { forcePlan, opened, proposed, spoken } from "../state.js";
import { run } from "./jobs.js";
import { BoardError } from "./types.js";
import { commit } from "./undo.js";

/** What has happened or is wanted, but is not yet part of the day. */
export const pending = signal<readonly Happening[]>([]);
export const working = signal(false);
export const proposalTrouble = signal<BoardError | undefined>(undefined);

export const proposedPlan = computed(() => {
  const day = opened.value;
  const proposal = proposed.value;
  return day && proposal ? readPlan(proposal.documents, proposal.timetable) : undefined;
});

/** The list that the planner reads before accepting. */
export const changes = computed(() => {
  const before = forcePlan.value;
  const after = proposedPlan.value;
  return before && after ? changesBetween(before, after) : undefined;
});

export function addPending(happening: Happening): void {
  pending.value = [...pending.value, happening];
  proposed.value = undefined;
}

export function removePending(index: number): void {
  pending.value = pending.value.filter((_, i) => i !== index);
  proposed.value = undefined;
}

/** Has the server repair the timetable around what happened. Nothing takes effect yet. */
export async function workOut(): Promise<void> {
  const day = opened.value;
  if (!day || pending.value.length === 0) return;
  working.value = true;
  proposalTrouble.value = undefined;
  try {
    const happenings = {
      ...day.documents.happenings,
      happenings: [...day.documents.happenings.happenings, ...pending.value],
    };
    const job = await run<{ timetable: Timetable }>(day.id, "repair", { happenings: pending.value });
    const { timetable } = await job.done;
    proposed.value = { withHappenings: true, documents: { ...day.documents, happenings }, timetable };
    spoken.value = "The changes are listed beside the timetable.";
  } catch (error) {
    const known = error instanceof BoardError ? error : new BoardError((error as Error).message);
    proposalTrouble.value = known.isMissing ? new BoardError("This server cannot repair timetables.") : known;
  } finally {
    working.value = false;
  }
}

/** From now on the proposed timetable is in force. */
export async function accept(): Promise<void> {
  const day = opened.value;
  const proposal = proposed.value;
  if (!day || !proposal) return;
  working.value = true;
  try {
    const { timetable, documents, withHappenings } = proposal;
    await commit(
      day,
      withHappenings ? { happenings: documents.happenings, timetable } : { timetable },
      withHappenings ? "changes accepted" : "drawn up anew",
    );
    proposed.value = undefined;
    pending.value = [];
    spoken.value = "Accepted. The new timetable is in force.";
  } catch (error) {
    proposalTrouble.value = error instanceof BoardError ? error : new BoardError((error as Error).message);
  } finally {
    working.value = false;
  }
}

export function discard(): void {
  proposed.value = undefined;
  pending.value = [];
  proposalTrouble.value = undefined;
}

export type { Timetable };
