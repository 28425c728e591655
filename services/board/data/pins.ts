import { computed, signal } from "@preact/signals";
import { withoutPins, withPins } from "../logic/pins.js";
import { forcePlan, opened, plan, proposed, spoken } from "../state.js";
import { mayPlan } from "./session.js";
import { BoardError } from "./types.js";
import { commit } from "./undo.js";

/** Only what is in force can be pinned, and seen to be. */
export const mayPin = computed(
  () => mayPlan.value && proposed.value === undefined && plan.value !== undefined && plan.value === forcePlan.value,
);

export const pinTrouble = signal<BoardError | undefined>(undefined);

/** Pins or unpins tasks of the timetable in force: takes effect at once, nothing moves. */
export async function setPins(tasks: readonly string[], isPinned: boolean): Promise<void> {
  const day = opened.value;
  if (!day || tasks.length === 0) return;
  const { happenings: before } = day.documents;
  const happenings = isPinned ? withPins(before, tasks) : withoutPins(before, tasks);
  if (happenings.happenings.length === before.happenings.length) return;
  pinTrouble.value = undefined;
  try {
    await commit(day, { happenings }, isPinned ? "pinned" : "unpinned");
    spoken.value = isPinned ? "Pinned: it stays where it is." : "Unpinned.";
  } catch (error) {
    pinTrouble.value = error instanceof BoardError ? error : new BoardError((error as Error).message);
    spoken.value = pinTrouble.value.message;
  }
}
