import type { DocumentName } from "../../../schemas/index.js";
import { DAY_FILES, type DayFile } from "../../day-files.js";
import { type ChosenFile, fileOf, isWhole, type SortedFiles } from "../logic/folder.js";
import { filesInZip, type Unzipped } from "../logic/zip.js";
import { openDay } from "./days.js";
import { sendJson } from "./http.js";
import { BoardError, type DayRecord, type OpenDay } from "./types.js";
import { remember } from "./undo.js";

const MOST_BYTES = 64 * 1024 * 1024;

const isZip = (name: string): boolean => /\.zip$/i.test(name);

function textOf({ name, bytes }: Unzipped): ChosenFile {
  try {
    return { name, text: new TextDecoder("utf-8", { fatal: true }).decode(bytes) };
  } catch {
    return { name, text: "", trouble: "is not UTF-8 text; save it again as UTF-8" };
  }
}

/** Reads a file at once: what changes on the disk later is chosen again. A zip is the files in it. */
export async function readChosen(file: File): Promise<ChosenFile[]> {
  const { name } = file;
  const left = (trouble: string): ChosenFile[] => [{ name, text: "", trouble }];
  if (file.size > MOST_BYTES) return left("is larger than 64 MB");
  let bytes: Uint8Array;
  try {
    bytes = new Uint8Array(await file.arrayBuffer());
  } catch {
    return left("cannot be read");
  }
  if (!isZip(name)) return [textOf({ name, bytes })];
  try {
    const found = filesInZip(bytes);
    return found.length === 0 ? left("holds no files of a day") : found.map(textOf);
  } catch (error) {
    return left((error as Error).message);
  }
}

/** What a day made of these files may be kept as: after their folder, or the zip that they came in. */
export function nameOf(files: readonly File[], folder: string): string {
  return folder || (files.find(({ name }) => isZip(name))?.name.replace(/\.zip$/i, "") ?? "");
}

/** Files that stand in a chosen folder itself, not in folders inside it. */
export function directlyIn(files: readonly File[]): File[] {
  return files.filter((file) => file.webkitRelativePath.split("/").length <= 2);
}

function entriesIn(folder: FileSystemDirectoryEntry): Promise<FileSystemEntry[]> {
  const reader = folder.createReader();
  const found: FileSystemEntry[] = [];
  return new Promise((resolve, reject) => {
    // It comes in parts; an empty one is the last.
    const next = (): void =>
      reader.readEntries((part) => {
        found.push(...part);
        if (part.length === 0) resolve(found);
        else next();
      }, reject);
    next();
  });
}

function fileFrom(entry: FileSystemFileEntry): Promise<File> {
  return new Promise((resolve, reject) => entry.file(resolve, reject));
}

/** What was dropped: files, and the files of dropped folders. */
export async function dropped(transfer: DataTransfer): Promise<{ files: File[]; folder: string }> {
  // Both can only be had before anything is waited for.
  const entries = [...transfer.items].flatMap((item) => item.webkitGetAsEntry() ?? []);
  const plain = [...transfer.files];
  if (entries.length === 0) return { files: plain, folder: "" };
  const files: File[] = [];
  let folder = "";
  for (const entry of entries) {
    if (entry.isDirectory) folder = entry.name;
    const inside = entry.isDirectory ? await entriesIn(entry as FileSystemDirectoryEntry) : [entry];
    for (const one of inside) if (one.isFile) files.push(await fileFrom(one as FileSystemFileEntry));
  }
  return { files, folder };
}

function namesOf(sorted: SortedFiles): string {
  return `imported from ${sorted.taken.map(({ name }) => name).join(", ")}`.slice(0, 200);
}

async function send(
  id: string,
  sorted: SortedFiles,
  files: Partial<Record<DayFile, string | null>>,
  headers: Record<string, string>,
): Promise<void> {
  const path = `/api/days/${encodeURIComponent(id)}/files?note=${encodeURIComponent(namesOf(sorted))}`;
  try {
    await sendJson<DayRecord>("PUT", path, files, headers);
  } catch (error) {
    if (!(error instanceof BoardError)) throw error;
    const faults = error.faults.map((fault) => ({ ...fault, file: fileOf(sorted, fault.document) }));
    const isRefusedByRules = faults.length > 0 && error.faults.every(({ document }) => document === undefined);
    const fix = isRefusedByRules ? "Leave the timetable out, and the day is drawn up anew." : error.fix;
    throw new BoardError(error.message, fix, error.status, faults);
  }
}

function textsOf(sorted: SortedFiles): Partial<Record<DayFile, string | null>> {
  return Object.fromEntries(sorted.taken.map(({ as, text }) => [as, text]));
}

/** Makes a day of the files, or throws with everything that is wrong in them. */
export async function makeFromFiles(id: string, sorted: SortedFiles): Promise<void> {
  try {
    await send(id, sorted, textsOf(sorted), { "if-none-match": "*" });
  } catch (error) {
    if (error instanceof BoardError && error.status === 412)
      throw new BoardError(`There is a day kept as ${id} already.`, "Keep this one under another name.", 412);
    throw error;
  }
}

/** Takes the files in place of what the day has; files that are a whole day replace all of it. */
export async function changeByFiles(day: OpenDay, sorted: SortedFiles): Promise<OpenDay> {
  const files = textsOf(sorted);
  if (isWhole(sorted)) for (const name of ["happenings.json", "timetable-in-force.json"] as const) files[name] ??= null;
  await send(day.id, sorted, files, { "if-match": `"day-${day.record.change}"` });
  const changed = await openDay(day.id);
  const documents = new Set<DocumentName>(Object.keys(files).map((name) => DAY_FILES[name as DayFile]));
  remember(day, changed.record, [...documents], namesOf(sorted));
  return changed;
}
