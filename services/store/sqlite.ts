import { mkdirSync } from "node:fs";
import { dirname } from "node:path";
import type Database from "libsql";
import { migrate } from "./migrations.js";
import { inTransaction, isWritable, openFile, openFrozen, outside, revisionIn } from "./sqlite-file.js";
import { SqliteWriter } from "./sqlite-writer.js";
import {
  type Commit,
  type CommitResult,
  type ListOptions,
  prefixEnd,
  type Store,
  type StoreDump,
  type StoredRecord,
  StoreNotEmpty,
} from "./store.js";

interface Row {
  key: string;
  revision: number;
  value: string;
}

/**
 * The embedded store: one SQLite file with a write-ahead log, synced to disk before a commit is answered. Several processes may have it open; they
 * take turns to write. Reads are answered here and now, which the log allows while others write; writes go to a thread.
 */
export class SqliteStore implements Store {
  private db: Database.Database;
  /** The folder could not be written when the file was opened: it is read as it stands until that ends. */
  private isFrozen = false;
  private readonly writer: SqliteWriter;

  constructor(readonly path: string) {
    try {
      mkdirSync(dirname(path), { recursive: true });
      this.db = this.open();
      migrate(this.db);
    } catch (error) {
      throw outside(error);
    }
    this.writer = new SqliteWriter(path);
  }

  async get(key: string): Promise<StoredRecord | undefined> {
    return this.guarded(() => this.read(key));
  }

  async getMany(keys: readonly string[]): Promise<(StoredRecord | undefined)[]> {
    return this.guarded(() => keys.map((key) => this.read(key)));
  }

  async list(prefix: string, options: ListOptions = {}): Promise<StoredRecord[]> {
    const { after, limit = 1000, backwards = false } = options;
    const from = after !== undefined && !backwards ? after : prefix;
    const to = after !== undefined && backwards ? after : prefixEnd(prefix);
    const sql = `select key, revision, value from records where key ${after !== undefined && !backwards ? ">" : ">="} ? and key < ? order by key ${backwards ? "desc" : "asc"} limit ?`;
    return this.guarded(() => (this.db.prepare(sql).all(from, to, limit) as Row[]).map(toRecord));
  }

  async count(prefix: string): Promise<number> {
    const sql = "select count(*) as count from records where key >= ? and key < ?";
    return this.guarded(() => (this.db.prepare(sql).get(prefix, prefixEnd(prefix)) as { count: number }).count);
  }

  commit(commit: Commit): Promise<CommitResult> {
    return this.writer.commit(commit);
  }

  ping(): Promise<void> {
    return this.writer.prove();
  }

  async dump(): Promise<StoreDump> {
    return this.guarded(() => {
      this.db.exec("begin");
      try {
        const records = (this.db.prepare("select key, revision, value from records order by key").all() as Row[]).map(
          toRecord,
        );
        return { revision: revisionIn(this.db), records };
      } finally {
        this.db.exec("rollback");
      }
    });
  }

  async load({ revision, records }: StoreDump): Promise<void> {
    this.guarded(() =>
      inTransaction(this.db, () => {
        const { count } = this.db.prepare("select count(*) as count from records").get() as { count: number };
        if (count > 0) throw new StoreNotEmpty("the store has records already");
        const put = this.db.prepare("insert into records (key, revision, value) values (?, ?, ?)");
        for (const record of records) put.run(record.key, record.revision, record.value);
        this.db.prepare("update counters set value = max(value, ?) where name = 'revision'").run(revision);
      }),
    );
  }

  async close(): Promise<void> {
    await this.writer.close();
    this.db.close();
  }

  private read(key: string): StoredRecord | undefined {
    const row = this.db.prepare("select key, revision, value from records where key = ?").get(key) as Row | undefined;
    return row && toRecord(row);
  }

  private open(): Database.Database {
    try {
      return openFile(this.path);
    } catch (error) {
      const frozen = openFrozen(this.path);
      if (!frozen) throw error;
      this.isFrozen = true;
      return frozen;
    }
  }

  /** What is frozen would not see what others write from now on. */
  private thaw(): void {
    if (!this.isFrozen || !isWritable(this.path)) return;
    const db = openFile(this.path);
    this.db.close();
    this.db = db;
    this.isFrozen = false;
  }

  private guarded<T>(work: () => T): T {
    try {
      this.thaw();
      return work();
    } catch (error) {
      throw outside(error);
    }
  }
}

function toRecord(row: Row): StoredRecord {
  return { key: row.key, revision: row.revision, value: row.value };
}
