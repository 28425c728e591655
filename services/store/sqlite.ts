import { mkdirSync } from "node:fs";
import { dirname } from "node:path";
import Database from "libsql";
import { migrate } from "./migrations.js";
import {
  type Commit,
  type CommitResult,
  type ListOptions,
  prefixEnd,
  type Store,
  type StoreDump,
  type StoredRecord,
  StoreNotEmpty,
  StoreUnavailable,
} from "./store.js";

/** Codes that mean: the disk or the file, not the program. */
const OUTSIDE = /SQLITE_(BUSY|LOCKED|READONLY|IOERR|FULL|CANTOPEN|CORRUPT|NOTADB|PERM|AUTH)/;

function outside(error: unknown): unknown {
  const text = `${(error as { code?: string }).code ?? ""} ${(error as Error).message}`;
  const known =
    OUTSIDE.test(text) ||
    /unable to open|readonly|read-only|disk (is full|I\/O)|database is (locked|full)|malformed/i.test(text);
  return known
    ? new StoreUnavailable(`the store's file cannot be used: ${(error as Error).message}`, { cause: error })
    : error;
}

interface Row {
  key: string;
  revision: number;
  value: string;
}

/**
 * The embedded store: one SQLite file with a write-ahead log, synced to disk before a commit is answered. Several processes may have it open; they
 * take turns to write.
 */
export class SqliteStore implements Store {
  private readonly db: Database.Database;

  constructor(readonly path: string) {
    try {
      mkdirSync(dirname(path), { recursive: true });
      this.db = new Database(path);
      this.db.exec("pragma busy_timeout = 5000");
      this.db.exec("pragma journal_mode = WAL");
      this.db.exec("pragma synchronous = FULL");
      migrate(this.db);
    } catch (error) {
      throw outside(error);
    }
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

  async commit(commit: Commit): Promise<CommitResult> {
    return this.guarded(() => {
      this.db.exec("begin immediate");
      try {
        const result = this.apply(commit);
        this.db.exec("revision" in result ? "commit" : "rollback");
        return result;
      } catch (error) {
        if (this.db.inTransaction) this.db.exec("rollback");
        throw error;
      }
    });
  }

  async ping(): Promise<void> {
    this.guarded(() => {
      this.db.exec("begin immediate");
      try {
        this.db.prepare("update counters set value = value where name = 'revision'").run();
        this.db.exec("commit");
      } catch (error) {
        if (this.db.inTransaction) this.db.exec("rollback");
        throw error;
      }
    });
  }

  async dump(): Promise<StoreDump> {
    return this.guarded(() => {
      this.db.exec("begin");
      try {
        const records = (this.db.prepare("select key, revision, value from records order by key").all() as Row[]).map(
          toRecord,
        );
        return { revision: this.currentRevision(), records };
      } finally {
        this.db.exec("rollback");
      }
    });
  }

  async load({ revision, records }: StoreDump): Promise<void> {
    this.guarded(() => {
      this.db.exec("begin immediate");
      try {
        const { count } = this.db.prepare("select count(*) as count from records").get() as { count: number };
        if (count > 0) throw new StoreNotEmpty("the store has records already");
        const put = this.db.prepare("insert into records (key, revision, value) values (?, ?, ?)");
        for (const record of records) put.run(record.key, record.revision, record.value);
        this.db.prepare("update counters set value = max(value, ?) where name = 'revision'").run(revision);
        this.db.exec("commit");
      } catch (error) {
        if (this.db.inTransaction) this.db.exec("rollback");
        throw error;
      }
    });
  }

  async close(): Promise<void> {
    this.db.close();
  }

  private read(key: string): StoredRecord | undefined {
    const row = this.db.prepare("select key, revision, value from records where key = ?").get(key) as Row | undefined;
    return row && toRecord(row);
  }

  private apply(commit: Commit): CommitResult {
    for (const { key, revision } of commit.checks) {
      const row = this.db.prepare("select revision from records where key = ?").get(key) as
        | { revision: number }
        | undefined;
      if ((row?.revision ?? 0) !== revision) return { conflict: key };
    }
    this.db.prepare("update counters set value = value + 1 where name = 'revision'").run();
    const revision = this.currentRevision();
    const put = this.db.prepare(
      "insert into records (key, revision, value) values (?, ?, ?) on conflict (key) do update set revision = excluded.revision, value = excluded.value",
    );
    for (const { key, value } of commit.puts) put.run(key, revision, value);
    const drop = this.db.prepare("delete from records where key = ?");
    for (const key of commit.deletes) drop.run(key);
    return { revision };
  }

  private currentRevision(): number {
    return (this.db.prepare("select value from counters where name = 'revision'").get() as { value: number }).value;
  }

  private guarded<T>(work: () => T): T {
    try {
      return work();
    } catch (error) {
      throw outside(error);
    }
  }
}

function toRecord(row: Row): StoredRecord {
  return { key: row.key, revision: row.revision, value: row.value };
}
