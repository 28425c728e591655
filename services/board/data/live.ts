import { effect } from "@preact/signals";
import { opened } from "../state.js";
import { lifeOf, openDay } from "./days.js";
import { heardBack, heardDeleted } from "./deleting.js";
import { readEvents } from "./events.js";
import { flushMarks, type HeardMark, hear, heardMarks, isOnline, readMarks } from "./marks.js";
import type { DayRecord } from "./types.js";

const RETRY_MS = 2000;

/** Follows the open day: what others change is shown, what stations mark is heard. Comes back by itself when the line breaks. */
export function followOpenDay(): void {
  let stop: AbortController | undefined;
  let following: string | undefined;
  effect(() => {
    const id = opened.value?.id;
    const key = opened.value && `${id}~${lifeOf(opened.value)}`;
    if (key === following) return;
    following = key;
    stop?.abort();
    if (id === undefined) return;
    stop = new AbortController();
    heardMarks.value = [];
    void follow(id, stop.signal);
  });
}

async function follow(id: string, signal: AbortSignal): Promise<void> {
  while (!signal.aborted) {
    try {
      await readMarks(id);
      await readEvents(
        `/api/days/${encodeURIComponent(id)}/events`,
        ({ type, data }) => {
          isOnline.value = true;
          if (type === "day") void catchUp(id, JSON.parse(data) as DayRecord);
          else if (type === "mark") hear(JSON.parse(data) as HeardMark);
        },
        signal,
      );
    } catch {
      if (signal.aborted) return;
      isOnline.value = false;
    }
    if (signal.aborted) return;
    await new Promise((resolve) => setTimeout(resolve, RETRY_MS));
    await probe();
  }
}

/** Is the server there at all? */
async function probe(): Promise<void> {
  try {
    const response = await fetch("/health/live", { cache: "no-store" });
    isOnline.value = response.ok;
  } catch {
    isOnline.value = false;
  }
  if (isOnline.value) void flushMarks();
}

async function catchUp(id: string, record: DayRecord): Promise<void> {
  const day = opened.value;
  void flushMarks();
  if (day?.id !== id || day.record.change >= record.change) return;
  if (record.deleted) {
    heardDeleted(day);
    return;
  }
  try {
    const newest = await openDay(id);
    if (opened.value?.id === id && opened.value.record.change < newest.record.change) opened.value = newest;
    heardBack(id);
  } catch {
    // The next event brings it.
  }
}
