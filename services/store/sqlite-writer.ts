import { join } from "node:path";
import { Worker } from "node:worker_threads";
import { packageRoot } from "../package-root.js";
import { outside } from "./sqlite-file.js";
import type { WriteAnswer, WriteTask } from "./sqlite-thread.js";
import { type Commit, type CommitResult, StoreUnavailable } from "./store.js";

interface Waiting {
  /** None: only shows that the file can be written. */
  readonly commit: Commit | undefined;
  readonly resolve: (result: CommitResult | undefined) => void;
  readonly reject: (error: unknown) => void;
}

/** So many share one sync at most. */
const MOST_AT_ONCE = 64;

/**
 * Writes the file from a thread of its own: a busy disk takes from milliseconds to seconds to sync, and meanwhile the server's thread goes on answering. What
 * comes while the disk is busy is written together next. The thread starts with the first write.
 */
export class SqliteWriter {
  private thread: Worker | undefined;
  private readonly waiting: Waiting[] = [];
  private inHand: readonly Waiting[] = [];
  private closed: Promise<void> | undefined;
  private onIdle: (() => void) | undefined;

  constructor(private readonly path: string) {}

  commit(commit: Commit): Promise<CommitResult> {
    return this.ask(commit) as Promise<CommitResult>;
  }

  /** Resolves when something could be written. */
  async prove(): Promise<void> {
    await this.ask(undefined);
  }

  /** Ends after what was asked for. */
  close(): Promise<void> {
    this.closed ??= this.end();
    return this.closed;
  }

  private async end(): Promise<void> {
    if (this.inHand.length > 0)
      await new Promise<void>((resolve) => {
        this.onIdle = resolve;
      });
    const { thread } = this;
    if (!thread) return;
    const ended = new Promise((resolve) => thread.once("exit", resolve));
    thread.ref();
    thread.postMessage("close");
    await ended;
  }

  private ask(commit: Commit | undefined): Promise<CommitResult | undefined> {
    if (this.closed) return Promise.reject(new StoreUnavailable("the store is closed"));
    return new Promise((resolve, reject) => {
      this.waiting.push({ commit, resolve, reject });
      this.next();
    });
  }

  private next(): void {
    if (this.inHand.length > 0) return;
    if (this.waiting.length === 0) {
      this.thread?.unref();
      this.onIdle?.();
      return;
    }
    // A proof goes alone; commits go together up to the next proof.
    const proof = this.waiting.findIndex(({ commit }) => commit === undefined);
    const count = proof === 0 ? 1 : Math.min(MOST_AT_ONCE, proof < 0 ? this.waiting.length : proof);
    this.inHand = this.waiting.splice(0, count);
    const commits = this.inHand.flatMap(({ commit }) => (commit ? [commit] : []));
    this.thread ??= this.start();
    this.thread.ref();
    this.thread.postMessage({ commits } satisfies WriteTask);
  }

  private start(): Worker {
    // From sources too (tests): a thread needs compiled code.
    const thread = new Worker(join(packageRoot(), "dist", "services", "store", "sqlite-thread.js"), {
      workerData: { path: this.path },
    });
    thread.on("message", (answer: WriteAnswer) => this.settle(answer));
    thread.on("error", (error) => {
      if (thread !== this.thread) return;
      this.thread = undefined;
      const { message } = error;
      this.settle(this.inHand.map(() => ({ fault: `unable to open: its thread ended (${message})` })));
    });
    return thread;
  }

  private settle(answer: WriteAnswer): void {
    const settled = this.inHand;
    this.inHand = [];
    settled.forEach(({ resolve, reject }, i) => {
      const result = answer[i];
      if (result && "fault" in result) reject(outside(Object.assign(new Error(result.fault), { code: result.code })));
      else resolve(result);
    });
    this.next();
  }
}
