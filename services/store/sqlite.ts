import { mkdirSync } from "node:fs";
import { dirname } from "node:path";
import type Database from "libsql";
import { migrate } from "./migrations.js";
import { isWritable, openFile, openFrozen, outside, revisionIn } from "./sqlite-file.js";
import { SqliteWriter } from "./sqlite-writer.js";
import {
  type Commit,
  type CommitResult,
  type Dump,
  type Dumped,
  type ListOptions,
  prefixEnd,
  type Store,
  type StoredRecord,
  StoreNotEmpty,
} from "./store.js";

/** Records may be large: so few at a time. */
const DUMP_PAGE = 16;

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

  /** Nothing can be read before it is synced. */
  async sure(): Promise<void> {}

  async dump(take: (some: readonly Dumped[]) => Promise<void>): Promise<Dump> {
    // A connection of its own: what it reads is of the moment at which it began.
    const db = this.guarded(() => this.open());
    const sql = "select key, revision, value from records where key > ? order by key limit ?";
    try {
      db.exec("begin");
      const revision = revisionIn(db);
      let records = 0;
      for (let after = ""; ; ) {
        const page = (db.prepare(sql).all(after, DUMP_PAGE) as Row[]).map(toRecord);
        records += page.length;
        if (page.length > 0) await take(page);
        if (page.length < DUMP_PAGE) return { revision, records };
        after = page.at(-1)!.key;
      }
    } catch (error) {
      throw outside(error);
    } finally {
      closeAll(db);
    }
  }

  async load(dumped: AsyncIterable<Dumped>, revision: number): Promise<void> {
    const db = this.guarded(() => openFile(this.path));
    try {
      db.exec("begin immediate");
      const { count } = db.prepare("select count(*) as count from records").get() as { count: number };
      if (count > 0) throw new StoreNotEmpty("the store has records already");
      const put = db.prepare("insert or replace into records (key, revision, value) values (?, ?, ?)");
      const drop = db.prepare("delete from records where key = ?");
      for await (const one of dumped) {
        if ("gone" in one) drop.run(one.key);
        else put.run(one.key, one.revision, one.value);
      }
      db.prepare("update counters set value = max(value, ?) where name = 'revision'").run(revision);
      db.exec("commit");
    } catch (error) {
      throw outside(error);
    } finally {
      // Without a commit nothing of it is there.
      closeAll(db);
    }
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

/** Closed alone it would hold its locks until somebody collects it. */
function closeAll(db: Database.Database): void {
  if (db.inTransaction) db.exec("rollback");
  db.close();
}
