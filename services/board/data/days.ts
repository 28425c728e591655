import type { DayDocuments, DocumentName, Timetable } from "../../../schemas/index.js";
import { ask, sendJson } from "./http.js";
import type { DayRecord, OpenDay } from "./types.js";

const at = (id: string): string => `/api/days/${encodeURIComponent(id)}`;

export async function listDays(): Promise<readonly DayRecord[]> {
  return (await ask<{ days: DayRecord[] }>("/api/days")).body.days;
}

type Documents = Omit<DayDocuments, "inForce"> & { readonly timetable?: Timetable };

function opened(record: DayRecord, documents: Documents): OpenDay {
  const { timetable, ...rest } = documents;
  return { id: record.id, record, documents: rest as DayDocuments, timetable };
}

export async function openDay(id: string): Promise<OpenDay> {
  const { body } = await ask<{ day: DayRecord; documents: Documents }>(`${at(id)}/documents`);
  return opened(body.day, body.documents);
}

/** Documents to change together; a timetable of null is taken away. */
export type DocumentChanges = Partial<Omit<Documents, "timetable"> & { readonly timetable: Timetable | null }>;

/** Makes a day of these documents; refused when there is one of that id. */
export async function makeDay(id: string, documents: DayDocuments, note: string): Promise<void> {
  const { inForce: _, ...rest } = documents;
  await sendJson("PUT", `${at(id)}?note=${encodeURIComponent(note)}`, rest, { "if-none-match": "*" });
}

/** Tells days apart that were kept under one id, one after the other. */
export const lifeOf = ({ record }: OpenDay): number => record.life ?? 0;

/** Makes a deleted day again, with its timetable and what its stations marked. */
export async function remakeDay(day: OpenDay): Promise<void> {
  const { id, documents, timetable } = day;
  const { inForce: _, ...rest } = documents;
  const note = encodeURIComponent("brought back after it was deleted");
  const all = timetable ? { ...rest, timetable } : rest;
  await sendJson("PUT", `${at(id)}?note=${note}&life=${lifeOf(day)}`, all, { "if-none-match": "*" });
}

/** Refused when somebody changed the day since it was opened. */
export async function deleteDay(day: OpenDay): Promise<void> {
  await sendJson("DELETE", at(day.id), undefined, { "if-match": `"day-${day.record.change}"` });
}

/** Changes documents of a day together; refused when somebody changed the day since it was opened. */
export async function saveDocuments(day: OpenDay, documents: DocumentChanges, note: string): Promise<OpenDay> {
  const { body } = await sendJson<DayRecord>("PUT", `${at(day.id)}?note=${encodeURIComponent(note)}`, documents, {
    "if-match": `"day-${day.record.change}"`,
  });
  const { timetable, ...rest } = documents;
  const inForce = timetable === null ? undefined : (timetable ?? day.timetable);
  return { id: day.id, record: body, documents: { ...day.documents, ...rest }, timetable: inForce };
}

/** Orders as CSV, in place of those of the day. */
export async function uploadOrders(day: OpenDay, csv: string): Promise<OpenDay> {
  await ask(`${at(day.id)}/documents/orders?note=${encodeURIComponent("orders uploaded")}`, {
    method: "PUT",
    headers: { "content-type": "text/csv", "if-match": `"orders-${day.record.versions.orders}"` },
    body: csv,
  });
  return openDay(day.id);
}

export async function readVersion<T>(id: string, document: DocumentName, version: number): Promise<T> {
  return (await ask<T>(`${at(id)}/documents/${document}/history/${version}`)).body;
}

export interface VersionEntry {
  readonly version: number;
  readonly at: string;
  readonly by: string;
  readonly note?: string;
  readonly from?: number;
}

export async function history(id: string, document: DocumentName): Promise<readonly VersionEntry[]> {
  return (await ask<{ versions: VersionEntry[] }>(`${at(id)}/documents/${document}/history?limit=100`)).body.versions;
}
