import { parentPort, workerData } from "node:worker_threads";
import type Database from "libsql";
import { applyCommit, inTransaction, openFile } from "./sqlite-file.js";
import type { Commit, CommitResult } from "./store.js";

/** What the thread is asked: to write these commits, or (none) to show that the file can be written. */
export interface WriteTask {
  readonly commits: readonly Commit[];
}

/** One answer for each commit, in their order. */
export type WriteAnswer = readonly (CommitResult | { readonly fault: string; readonly code?: string })[];

const port = parentPort!;
const { path } = workerData as { path: string };
let opened: Database.Database | undefined;

/** A file that could not be opened is tried again with the next write. */
function file(): Database.Database {
  opened ??= openFile(path);
  return opened;
}

function faultOf(error: unknown): { fault: string; code?: string } {
  const { message, code } = error as Error & { code?: string };
  return { fault: message, ...(code === undefined ? {} : { code }) };
}

/** All that wait share one sync of the disk. If that cannot be done, each is tried alone, so that one that is too big fails alone. */
function write(commits: readonly Commit[]): WriteAnswer {
  try {
    return inTransaction(file(), () => commits.map((commit) => applyCommit(file(), commit)));
  } catch (error) {
    return commits.length === 1 ? [faultOf(error)] : commits.flatMap((commit) => write([commit]));
  }
}

function prove(): WriteAnswer {
  try {
    const same = "update counters set value = value where name = 'revision'";
    inTransaction(file(), () => file().prepare(same).run());
    return [];
  } catch (error) {
    return [faultOf(error)];
  }
}

port.on("message", (task: WriteTask | "close") => {
  if (task === "close") {
    opened?.close();
    port.close();
  } else port.postMessage(task.commits.length === 0 ? prove() : write(task.commits));
});
