import { signal } from "@preact/signals";
import { opened } from "../state.js";
import { listDays, openDay } from "./days.js";
import { resumeDrawing } from "./drawing.js";
import { discard } from "./proposal.js";
import type { DayRecord } from "./types.js";

/** The days that the server has. */
export const days = signal<readonly DayRecord[]>([]);

/** The server has no day at all; false as long as that is not known. */
export const hasNone = signal(false);

const LAST_DAY = "deck-and-shelf.day";

export async function readDays(): Promise<void> {
  days.value = await listDays();
  hasNone.value = days.value.length === 0;
}

/** The day to open first: the one that was open last, else the one whose timetable changed last. */
export function firstDay(): DayRecord | undefined {
  const last = days.value.find((day) => day.id === localStorage.getItem(LAST_DAY));
  const byChange = [...days.value].sort(
    (a, b) =>
      Number(b.versions.timetable !== undefined) - Number(a.versions.timetable !== undefined) ||
      b.changedAt.localeCompare(a.changedAt),
  );
  return last ?? byChange[0];
}

export async function showDay(id: string): Promise<void> {
  opened.value = await openDay(id);
  localStorage.setItem(LAST_DAY, id);
  discard();
  void resumeDrawing();
}

/** A day that has just been made: it is the open one from now on. */
export async function showNewDay(id: string, page: string): Promise<void> {
  await readDays();
  await showDay(id);
  location.hash = page;
}
