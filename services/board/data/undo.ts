import { computed, signal } from "@preact/signals";
import type { DocumentName } from "../../../schemas/index.js";
import { opened } from "../state.js";
import { type DocumentChanges, readVersion, saveDocuments } from "./days.js";
import { BoardError, type DayRecord, type OpenDay } from "./types.js";

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

/** Versions that undo and redo made, with the one that each says the same as. */
const same = new Map<string, number>();

function originOf(day: string, name: DocumentName, version: number | undefined): number | undefined {
  const before = same.get(`${day}/${name}/${version}`);
  return before === undefined ? version : originOf(day, name, before);
}

/** From the documents as they were left to others: refused when somebody changed them since, which would be taken back too. */
async function goTo(entry: Done, from: Versions, to: Versions, label: string): Promise<void> {
  const day = opened.value;
  if (day?.id !== entry.day) return;
  const { versions } = day.record;
  const documents: Record<string, unknown> = {};
  for (const name of entry.documents) {
    if (originOf(day.id, name, versions[name]) !== originOf(day.id, name, from[name]))
      throw new BoardError(
        "Somebody changed the same since, which would be taken back too.",
        "Every version is kept under Set-up.",
      );
    const version = to[name];
    // Only a timetable can be missing.
    documents[name] = version === undefined ? null : await readVersion(day.id, name, version);
  }
  const saved = await saveDocuments(day, documents as DocumentChanges, label);
  for (const name of entry.documents) {
    const [made, version] = [saved.record.versions[name], to[name]];
    if (made !== undefined && version !== undefined) same.set(`${day.id}/${name}/${made}`, version);
  }
  opened.value = saved;
}

export async function undo(): Promise<void> {
  const last = lastDone.value;
  if (!last) return;
  await goTo(last, last.after, last.before, `taken back: ${last.label}`);
  done.value = done.value.filter((entry) => entry !== last);
  undone.value = [...undone.value, last];
}

export async function redo(): Promise<void> {
  const last = lastUndone.value;
  if (!last) return;
  await goTo(last, last.before, last.after, `done again: ${last.label}`);
  undone.value = undone.value.filter((entry) => entry !== last);
  done.value = [...done.value, last];
}
