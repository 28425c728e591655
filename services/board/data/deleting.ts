import { signal } from "@preact/signals";
import { dayName } from "../logic/new-day.js";
import { opened, spoken } from "../state.js";
import { deleteDay, remakeDay } from "./days.js";
import { takeDrafts } from "./drafts.js";
import { firstDay, readDays, showDay } from "./open-days.js";
import { discard } from "./proposal.js";
import { BoardError, type OpenDay } from "./types.js";
import { forgetDone } from "./undo.js";

interface Deleted {
  readonly day: OpenDay;
  /** From here, or on another screen. */
  readonly isOwn: boolean;
  /** Puts what was typed and not saved back. */
  readonly restoreDrafts: () => void;
}

/** The day that was deleted last: as long as this page is open it can be brought back. */
export const lastDeleted = signal<Deleted | undefined>(undefined);

/** Deletes the day as this page knows it; refused when somebody changed it meanwhile. Another day is open then, or none. */
export async function deleteOpenDay(day: OpenDay): Promise<void> {
  try {
    await deleteDay(day);
  } catch (error) {
    if (error instanceof BoardError && error.status === 412)
      throw new BoardError("Somebody changed this day meanwhile; it is not deleted.", "Look at it again first.", 412);
    throw error;
  }
  lastDeleted.value = { day, isOwn: true, restoreDrafts: takeDrafts(day.id) };
  forgetDone(day.id);
  discard();
  await readDays();
  const next = firstDay();
  if (next) await showDay(next.id);
  else opened.value = undefined;
}

/** Of the open day, deleted on another screen: what is known of it stays to be looked at. */
export function heardDeleted(day: OpenDay): void {
  if (lastDeleted.value?.day.id === day.id) return;
  spoken.value = `${dayName(day.id)} was deleted on another screen.`;
  lastDeleted.value = { day, isOwn: false, restoreDrafts: () => undefined };
  void readDays().catch(() => undefined);
}

/** Somebody brought it back. */
export function heardBack(id: string): void {
  if (lastDeleted.value?.day.id === id) lastDeleted.value = undefined;
}

/** Makes the day again as it was. Its versions go on where they ended, so its history is there as well. */
export async function bringBackDay(): Promise<void> {
  const deleted = lastDeleted.value;
  if (!deleted) return;
  const { day, restoreDrafts } = deleted;
  try {
    await remakeDay(day);
  } catch (error) {
    if (error instanceof BoardError && error.status === 412)
      throw new BoardError(`There is another day kept as ${day.id} by now.`, "", 412);
    throw error;
  }
  restoreDrafts();
  await readDays();
  await showDay(day.id);
  lastDeleted.value = undefined;
}
