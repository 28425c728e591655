/**
 * The truth. Records by key, each with the store's revision at which it was written last; all changes go through one atomic, conditional commit. Everything
 * above (documents, history, jobs, outbox, tokens) is built from this alone, so that the embedded store and Redis behave alike.
 */
export interface StoredRecord {
  readonly key: string;
  /** The revision that wrote it. Revisions only grow and are never used again, not even after a deletion. */
  readonly revision: number;
  /** JSON text (so without raw control characters). */
  readonly value: string;
}

/** What a dump says: a record, or that a key which it had before is gone. What comes later of a key counts. */
export type Dumped = StoredRecord | { readonly key: string; readonly gone: true };

export interface Dump {
  /** Of the store at the moment that the dump is of. */
  readonly revision: number;
  readonly records: number;
}

/** A dump is put back into an empty store only. */
export class StoreNotEmpty extends Error {}

export interface Commit {
  /** Every key must still have this revision; 0: must not be there. */
  readonly checks: readonly { readonly key: string; readonly revision: number }[];
  readonly puts: readonly { readonly key: string; readonly value: string }[];
  readonly deletes: readonly string[];
}

export type CommitResult = { readonly revision: number } | { readonly conflict: string };

export interface ListOptions {
  /** Keys after this one (before it, when backwards). */
  readonly after?: string;
  readonly limit?: number;
  readonly backwards?: boolean;
}

export interface Store {
  get(key: string): Promise<StoredRecord | undefined>;
  /** In the order of the keys; undefined for those that are not there. */
  getMany(keys: readonly string[]): Promise<(StoredRecord | undefined)[]>;
  /** Records whose key begins with the prefix, in byte order of the keys. */
  list(prefix: string, options?: ListOptions): Promise<StoredRecord[]>;
  /** How many keys begin with the prefix. */
  count(prefix: string): Promise<number>;
  /** All or nothing; a commit that is sent twice over a broken line is done once. `conflict` names a key whose check failed. */
  commit(commit: Commit): Promise<CommitResult>;
  /** Everything, some at a time; all together it is of one moment. */
  dump(take: (some: readonly Dumped[]) => Promise<void>): Promise<Dump>;
  /** Fills an empty store with what a dump said; refuses one that has records. Revisions go on after the dump's. */
  load(dumped: AsyncIterable<Dumped>, revision: number): Promise<void>;
  /** Resolves when the store can be read and written, rejects with the reason when not. */
  ping(): Promise<void>;
  /** Resolves when what was read is as sure as what a commit answered: it may be there before its commit knows that it is kept. */
  sure(): Promise<void>;
  close(): Promise<void>;
}

/** The store cannot be reached or written now; trying again later may help. */
export class StoreUnavailable extends Error {
  override readonly name = "StoreUnavailable";
}

/** The records were written by a newer program: this one leaves them alone. */
export class FormatTooNew extends Error {
  override readonly name = "FormatTooNew";

  constructor(found: number | string, known: number) {
    super(
      `the store was written by a newer program (format ${found}; this one knows ${known}). Use that program, or restore a backup.`,
    );
  }
}

/** A backup is being put back, or that was broken off. */
export class HalfRestored extends Error {
  override readonly name = "HalfRestored";

  constructor() {
    super("a backup is being put back into the store, or was and did not come to its end. Restore it again.");
  }
}

/** Keys are printable ASCII without blanks, at most this long. */
export const MOST_KEY_LENGTH = 400;

/** A key's first character that is after every key with the prefix. */
export function prefixEnd(prefix: string): string {
  return `${prefix}\u007f`;
}
