import type { Commit, Store } from "./store.js";

/** Somebody else changed the same records, again and again. */
export class TooBusy extends Error {}

/** What a transaction sees: its own writes, and of everything else what was there when it was read. */
export class Transaction {
  private readonly revisions = new Map<string, number>();
  private readonly seen = new Map<string, string | undefined>();
  private readonly puts = new Map<string, string>();
  private readonly deletes = new Set<string>();

  constructor(private readonly store: Store) {}

  /** The record's value as parsed JSON; the commit fails when somebody changes it meanwhile. */
  async get<T>(key: string): Promise<T | undefined> {
    if (this.puts.has(key)) return JSON.parse(this.puts.get(key)!) as T;
    if (this.deletes.has(key)) return undefined;
    if (!this.seen.has(key)) {
      const record = await this.store.get(key);
      this.revisions.set(key, record?.revision ?? 0);
      this.seen.set(key, record?.value);
    }
    const text = this.seen.get(key);
    return text === undefined ? undefined : (JSON.parse(text) as T);
  }

  /** The revision at which a record was read; 0 when it is not there. */
  async revisionOf(key: string): Promise<number> {
    await this.get(key);
    return this.revisions.get(key) ?? 0;
  }

  /** Another condition of the commit. */
  expect(key: string, revision: number): void {
    this.revisions.set(key, revision);
  }

  put(key: string, value: unknown): void {
    this.putText(key, JSON.stringify(value));
  }

  /** A value that is JSON text already. */
  putText(key: string, text: string): void {
    this.deletes.delete(key);
    this.puts.set(key, text);
  }

  delete(key: string): void {
    this.puts.delete(key);
    this.deletes.add(key);
  }

  get isReadOnly(): boolean {
    return this.puts.size === 0 && this.deletes.size === 0;
  }

  toCommit(): Commit {
    return {
      checks: [...this.revisions].map(([key, revision]) => ({ key, revision })),
      puts: [...this.puts].map(([key, value]) => ({ key, value })),
      deletes: [...this.deletes],
    };
  }
}

const MOST_TRIES = 50;

export interface Transacted<T> {
  readonly value: T;
  /** The revision of what was written; undefined when nothing was. */
  readonly revision: number | undefined;
}

/**
 * Reads, decides and writes as if nobody else were there: when a record that was read has changed before the commit, all is done again with
 * what is there now. `work` may run several times and must have no other effects.
 */
export async function transact<T>(store: Store, work: (tx: Transaction) => Promise<T>): Promise<Transacted<T>> {
  for (let attempt = 0; attempt < MOST_TRIES; attempt++) {
    const tx = new Transaction(store);
    const value = await work(tx);
    if (tx.isReadOnly) return { value, revision: undefined };
    const result = await store.commit(tx.toCommit());
    if ("revision" in result) return { value, revision: result.revision };
    if (attempt > 2) await new Promise((resolve) => setTimeout(resolve, Math.random() * 4 * attempt));
  }
  throw new TooBusy("others keep changing the same records; try again");
}
