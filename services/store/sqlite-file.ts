import { accessSync, constants, existsSync } from "node:fs";
import { dirname } from "node:path";
import { pathToFileURL } from "node:url";
import Database from "libsql";
import { type Commit, type CommitResult, StoreUnavailable } from "./store.js";

/** Opens the file as every connection has it: a write-ahead log, synced to disk before a commit is answered. */
export function openFile(path: string): Database.Database {
  const db = new Database(path);
  db.exec("pragma busy_timeout = 5000");
  db.exec("pragma journal_mode = WAL");
  db.exec("pragma synchronous = FULL");
  return db;
}

/**
 * Opens for reading a file that openFile cannot open since nothing can be written beside it: a write-ahead log wants an index of its own, even to read. With
 * all of the log in the file (none is left beside it) the file is read as it stands. `undefined` when that is not how it is.
 */
export function openFrozen(path: string): Database.Database | undefined {
  if (!existsSync(path) || existsSync(`${path}-wal`) || isWritable(path)) return undefined;
  return new Database(`${pathToFileURL(path).href.replace("file://", "file:")}?immutable=1`, { readonly: true });
}

/** Whether files can be written beside this one, and it itself. */
export function isWritable(path: string): boolean {
  try {
    accessSync(dirname(path), constants.W_OK);
    accessSync(path, constants.W_OK);
    return true;
  } catch {
    return false;
  }
}

/** Codes that mean: the disk or the file, not the program. */
const OUTSIDE = /SQLITE_(BUSY|LOCKED|READONLY|IOERR|FULL|CANTOPEN|CORRUPT|NOTADB|PERM|AUTH)/;

/** An error of the disk or the file as StoreUnavailable; a fault of the program stays what it is. */
export function outside(error: unknown): unknown {
  const text = `${(error as { code?: string }).code ?? ""} ${(error as Error).message}`;
  const known =
    OUTSIDE.test(text) ||
    /unable to open|readonly|read-only|disk (is full|I\/O)|database is (locked|full)|malformed/i.test(text);
  return known
    ? new StoreUnavailable(`the store's file cannot be used: ${(error as Error).message}`, { cause: error })
    : error;
}

/** Runs in one transaction: all of it is on disk when this returns, or nothing is. */
export function inTransaction<T>(db: Database.Database, work: () => T): T {
  db.exec("begin immediate");
  try {
    const value = work();
    db.exec("commit");
    return value;
  } catch (error) {
    if (db.inTransaction) db.exec("rollback");
    throw error;
  }
}

export function revisionIn(db: Database.Database): number {
  return (db.prepare("select value from counters where name = 'revision'").get() as { value: number }).value;
}

/** One conditional commit, inside a transaction. Checks come first, so a conflict has written nothing. */
export function applyCommit(db: Database.Database, commit: Commit): CommitResult {
  for (const { key, revision } of commit.checks) {
    const row = db.prepare("select revision from records where key = ?").get(key) as { revision: number } | undefined;
    if ((row?.revision ?? 0) !== revision) return { conflict: key };
  }
  db.prepare("update counters set value = value + 1 where name = 'revision'").run();
  const revision = revisionIn(db);
  const put = db.prepare(
    "insert into records (key, revision, value) values (?, ?, ?) on conflict (key) do update set revision = excluded.revision, value = excluded.value",
  );
  for (const { key, value } of commit.puts) put.run(key, revision, value);
  const drop = db.prepare("delete from records where key = ?");
  for (const key of commit.deletes) drop.run(key);
  return { revision };
}
