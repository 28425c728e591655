import { createReadStream } from "node:fs";
import { createInterface } from "node:readline";
import { writeAtomically } from "../day-folder.js";
import type { Store, StoreDump, StoredRecord } from "./store.js";

const FORMAT = "store/1";

/** The file is not a backup, or not a whole one. */
export class BadBackup extends Error {}

/** Writes everything that a store has to a file, whole or not at all: one JSON object a line, the first says what it is and how many follow. */
export async function backUp(store: Store, path: string): Promise<number> {
  const { revision, records } = await store.dump();
  const head = { format: FORMAT, revision, records: records.length };
  const lines = [head, ...records].map((line) => JSON.stringify(line));
  await writeAtomically(path, `${lines.join("\n")}\n`);
  return records.length;
}

async function read(path: string): Promise<StoreDump> {
  const records: StoredRecord[] = [];
  let head: { format?: string; revision?: number; records?: number } | undefined;
  let line = 0;
  for await (const text of createInterface({
    input: createReadStream(path, "utf8"),
    crlfDelay: Number.POSITIVE_INFINITY,
  })) {
    line++;
    let value: Partial<StoredRecord> & { format?: string; records?: number };
    try {
      value = JSON.parse(text) as typeof value;
    } catch {
      throw new BadBackup(`${path} line ${line} is not JSON: the file is damaged.`);
    }
    if (!head) {
      if (value.format !== FORMAT) throw new BadBackup(`${path} is not a backup that this program knows (${FORMAT}).`);
      head = value;
    } else if (typeof value.key === "string" && typeof value.revision === "number" && typeof value.value === "string")
      records.push({ key: value.key, revision: value.revision, value: value.value });
    else throw new BadBackup(`${path} line ${line} is not a record: the file is damaged.`);
  }
  if (!head || records.length !== head.records)
    throw new BadBackup(`${path} has ${records.length} of ${head?.records ?? "?"} records: it was cut short.`);
  return { revision: head.revision!, records };
}

/** Puts a backup into an empty store. Jobs that ran or waited then go on. */
export async function restore(store: Store, path: string): Promise<number> {
  const dump = await read(path);
  await store.load(dump);
  return dump.records.length;
}
