import type Database from "libsql";
import { FormatTooNew } from "./store.js";

/** Each takes the file from its index to the next; a file's version is kept in user_version. Never edit one that was released: add. */
const MIGRATIONS: readonly string[] = [
  `create table records (key text primary key, revision integer not null, value text not null) without rowid;
   create table counters (name text primary key, value integer not null) without rowid;
   insert into counters (name, value) values ('revision', 0);`,
];

export const SCHEMA_VERSION = MIGRATIONS.length;

function versionOf(db: Database.Database): number {
  return (db.prepare("pragma user_version").get() as { user_version: number }).user_version;
}

/** Brings a file up to date, each step whole or not at all. A file from a newer program is refused. */
export function migrate(db: Database.Database): void {
  if (versionOf(db) === SCHEMA_VERSION) return;
  db.exec("begin immediate");
  try {
    const version = versionOf(db);
    if (version > SCHEMA_VERSION) throw new FormatTooNew(version, SCHEMA_VERSION);
    for (const step of MIGRATIONS.slice(version)) db.exec(step);
    db.exec(`pragma user_version = ${SCHEMA_VERSION}`);
    db.exec("commit");
  } catch (error) {
    if (db.inTransaction) db.exec("rollback");
    throw error;
  }
}
