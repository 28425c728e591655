import { createReadStream } from "node:fs";
import { mkdir, open, rename, rm } from "node:fs/promises";
import { dirname } from "node:path";
import { newId } from "../ids.js";
import type { Dump, Dumped, Store } from "./store.js";

/** One JSON object a line: what the file is, the records, and at the end how many lines these were and the store's revision. */
const FORMAT = "store/2";
/** Like it, but with revision and count in its first line. */
const BEFORE = "store/1";

/** The file is not a backup, or not a whole one. */
export class BadBackup extends Error {}

/** Writes everything that a store has to a file, whole or not at all, a few records at a time: a store may be larger than the memory. */
export async function backUp(store: Store, path: string): Promise<number> {
  await mkdir(dirname(path), { recursive: true });
  const beside = `${path}.${newId()}.part`;
  const file = await open(beside, "wx");
  const write = (lines: readonly object[]): Promise<void> =>
    file.appendFile(lines.map((line) => `${JSON.stringify(line)}\n`).join(""));
  let lines = 0;
  try {
    await write([{ format: FORMAT }]);
    const { revision, records } = await store.dump(async (some) => {
      await write(some);
      lines += some.length;
    });
    await write([{ end: true, revision, lines, records }]);
    await file.sync();
    await file.close();
    await rename(beside, path);
    return records;
  } catch (error) {
    await file.close().catch(() => undefined);
    await rm(beside, { force: true });
    throw error;
  }
}

interface Line {
  readonly format?: string;
  readonly end?: true;
  readonly revision?: number;
  readonly records?: number;
  readonly lines?: number;
  readonly key?: string;
  readonly value?: string;
  readonly gone?: true;
}

function dumpedOf({ key, revision, value, gone }: Line): Dumped | undefined {
  if (typeof key !== "string") return undefined;
  if (gone === true) return { key, gone };
  return typeof revision === "number" && typeof value === "string" ? { key, revision, value } : undefined;
}

/** No faster than they are taken. */
async function* linesOf(path: string): AsyncGenerator<string> {
  let rest = "";
  for await (const chunk of createReadStream(path, { encoding: "utf8", highWaterMark: 1024 * 1024 })) {
    const parts = (rest + (chunk as string)).split("\n");
    rest = parts.pop()!;
    yield* parts;
  }
  if (rest !== "") yield rest;
}

/** Reads a backup line by line to its end; the answer comes only when all of it is there. */
async function* read(path: string): AsyncGenerator<Dumped, Dump> {
  let head: Line | undefined;
  let tail: Line | undefined;
  let line = 0;
  let lines = 0;
  for await (const text of linesOf(path)) {
    line++;
    let value: Line;
    try {
      value = JSON.parse(text) as Line;
    } catch {
      throw new BadBackup(`${path} line ${line} is not JSON: the file is damaged.`);
    }
    if (!head) {
      if (value.format !== FORMAT && value.format !== BEFORE)
        throw new BadBackup(`${path} is not a backup that this program knows (${FORMAT}).`);
      head = value;
      if (value.format === BEFORE) tail = { ...value, lines: value.records ?? 0 };
    } else if (value.end === true) tail = value;
    else {
      const dumped = dumpedOf(value);
      if (!dumped) throw new BadBackup(`${path} line ${line} is not a record: the file is damaged.`);
      lines++;
      yield dumped;
    }
  }
  if (!tail || lines !== tail.lines) throw new BadBackup(`${path} has ${lines} records and no end: it was cut short.`);
  return { revision: tail.revision!, records: tail.records! };
}

/** Puts a backup into an empty store. Jobs that ran or waited then go on. */
export async function restore(store: Store, path: string): Promise<number> {
  // Read twice: nothing is written before the file is known to be whole.
  const all = read(path);
  let step = await all.next();
  while (!step.done) step = await all.next();
  await store.load(read(path), step.value.revision);
  return step.value.records;
}
