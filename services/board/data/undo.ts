import { signal } from "@preact/signals";
import type { DocumentName } from "../../../schemas/index.js";
import { opened } from "../state.js";
import { readVersion, saveDocuments } from "./days.js";
import type { DayRecord, OpenDay } from "./types.js";

type Documents = Parameters<typeof saveDocuments>[1];
type Versions = DayRecord["versions"];

interface Done {
  readonly label: string;
  readonly documents: readonly DocumentName[];
  readonly before: Versions;
  readonly after: Versions;
}

/** What was done on this page, the latest last; and what was taken back. */
export const done = signal<readonly Done[]>([]);
export const undone = signal<readonly Done[]>([]);

/** Saves documents together and remembers how to take it back. */
export async function commit(day: OpenDay, documents: Documents, label: string): Promise<void> {
  const saved = await saveDocuments(day, documents, label);
  done.value = [
    ...done.value,
    {
      label,
      documents: Object.keys(documents) as DocumentName[],
      before: day.record.versions,
      after: saved.record.versions,
    },
  ];
  undone.value = [];
  opened.value = saved;
}

async function goTo(entry: Done, versions: Versions, label: string): Promise<void> {
  const day = opened.value;
  if (!day) return;
  const documents: Record<string, unknown> = {};
  for (const name of entry.documents) {
    const version = versions[name];
    if (version !== undefined) documents[name] = await readVersion(day.id, name, version);
  }
  opened.value = await saveDocuments(day, documents as Documents, label);
}

export async function undo(): Promise<void> {
  const last = done.value.at(-1);
  if (!last) return;
  await goTo(last, last.before, `taken back: ${last.label}`);
  done.value = done.value.slice(0, -1);
  undone.value = [...undone.value, last];
}

export async function redo(): Promise<void> {
  const last = undone.value.at(-1);
  if (!last) return;
  await goTo(last, last.after, `done again: ${last.label}`);
  undone.value = undone.value.slice(0, -1);
  done.value = [...done.value, last];
}
