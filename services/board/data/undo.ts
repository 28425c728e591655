import { computed, signal } from "@preact/signals";
import type { DocumentName } from "../../../schemas/index.js";
import { opened } from "../state.js";
import { type DocumentChanges, readVersion, saveDocuments } from "./days.js";
import type { DayRecord, OpenDay } from "./types.js";

type Versions = DayRecord["versions"];

interface Done {
  readonly day: string;
  readonly label: string;
  readonly documents: readonly DocumentName[];
  readonly before: Versions;
  readonly after: Versions;
}

/** What was done on this page, the latest last; and what was taken back. Of all days: versions of one mean nothing in another. */
const done = signal<readonly Done[]>([]);
const undone = signal<readonly Done[]>([]);

const ofOpenDay = (entries: readonly Done[]): Done | undefined =>
  entries.findLast((entry) => entry.day === opened.value?.id);

/** What can be taken back of the open day, and what can be done again. */
export const lastDone = computed(() => ofOpenDay(done.value));
export const lastUndone = computed(() => ofOpenDay(undone.value));

/** Remembers how to take back what was saved. */
export function remember(
  { id, record }: OpenDay,
  after: DayRecord,
  documents: readonly DocumentName[],
  label: string,
): void {
  done.value = [...done.value, { day: id, label, documents, before: record.versions, after: after.versions }];
  undone.value = undone.value.filter((entry) => entry.day !== id);
}

/** Of a day that is no more: another of its name has other versions. */
export function forgetDone(day: string): void {
  done.value = done.value.filter((entry) => entry.day !== day);
  undone.value = undone.value.filter((entry) => entry.day !== day);
}

/** Saves documents together and remembers how to take it back. */
export async function commit(day: OpenDay, documents: DocumentChanges, label: string): Promise<void> {
  const saved = await saveDocuments(day, documents, label);
  remember(day, saved.record, Object.keys(documents) as DocumentName[], label);
  // Another day may be looked at by now.
  if (opened.value?.id === day.id) opened.value = saved;
}

async function goTo(entry: Done, versions: Versions, label: string): Promise<void> {
  const day = opened.value;
  if (day?.id !== entry.day) return;
  const documents: Record<string, unknown> = {};
  for (const name of entry.documents) {
    const version = versions[name];
    // Only a timetable can be missing.
    documents[name] = version === undefined ? null : await readVersion(day.id, name, version);
  }
  opened.value = await saveDocuments(day, documents as DocumentChanges, label);
}

export async function undo(): Promise<void> {
  const last = lastDone.value;
  if (!last) return;
  await goTo(last, last.before, `taken back: ${last.label}`);
  done.value = done.value.filter((entry) => entry !== last);
  undone.value = [...undone.value, last];
}

export async function redo(): Promise<void> {
  const last = lastUndone.value;
  if (!last) return;
  await goTo(last, last.after, `done again: ${last.label}`);
  undone.value = undone.value.filter((entry) => entry !== last);
  done.value = [...done.value, last];
}
