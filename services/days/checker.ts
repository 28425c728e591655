import { Worker } from "node:worker_threads";
import { Problem } from "../problem.js";
import type { CheckAnswer, CheckTask, RequestTask } from "./checker-thread.js";

/** No document in order takes so long. */
const MOST_MS = 20_000;
const MOST_HEAP_MB = 768;
/** More at a time would only wait. */
const MOST_WAITING = 64;

/** What was found; faults and problems are thrown. */
export type Checked = Exclude<CheckAnswer, { fault: string } | { problem: object }>;

interface Asked {
  readonly task: CheckTask | RequestTask;
  readonly resolve: (answer: Checked) => void;
  readonly reject: (error: Error) => void;
}

/**
 * Parses and checks documents in a thread of its own, one at a time: whatever somebody sends, the server goes on answering others. A document that takes too
 * long or too much memory costs that thread only.
 */
export class Checker {
  private thread: Worker | undefined;
  private readonly waiting: Asked[] = [];
  private current: Asked | undefined;
  private clock: NodeJS.Timeout | undefined;
  private closed = false;

  check(task: CheckTask | RequestTask): Promise<Checked> {
    if (this.closed) return Promise.reject(new Problem("draining", "The server ends."));
    if (this.waiting.length >= MOST_WAITING)
      return Promise.reject(
        new Problem("unavailable", "Too many documents wait to be checked.", {}, { "Retry-After": "2" }),
      );
    return new Promise((resolve, reject) => {
      this.waiting.push({ task, resolve, reject });
      this.next();
    });
  }

  async close(): Promise<void> {
    this.closed = true;
    await this.thread?.terminate();
  }

  private next(): void {
    if (this.current) return;
    const asked = this.waiting.shift();
    if (!asked) return;
    this.current = asked;
    this.thread ??= this.start();
    this.thread.ref();
    this.clock = setTimeout(() => this.fail("They took too long to check."), MOST_MS);
    this.thread.postMessage(asked.task);
  }

  private start(): Worker {
    const thread = new Worker(new URL("./checker-thread.js", import.meta.url), {
      resourceLimits: { maxOldGenerationSizeMb: MOST_HEAP_MB, stackSizeMb: 8 },
    });
    thread.on("message", (answer: CheckAnswer) => {
      if ("problem" in answer) {
        const { name, detail, ...more } = answer.problem;
        this.done((asked) => asked.reject(new Problem(name, detail, more)));
      } else if ("fault" in answer) this.done((asked) => asked.reject(refused(answer.fault)));
      else this.done((asked) => asked.resolve(answer));
    });
    thread.on("error", (error) => {
      if (thread === this.thread) this.fail(`They took too much to check (${error.message}).`);
    });
    return thread;
  }

  private fail(why: string): void {
    void this.thread?.terminate();
    this.thread = undefined;
    this.done((asked) => asked.reject(refused(why)));
  }

  private done(end: (asked: Asked) => void): void {
    clearTimeout(this.clock);
    this.thread?.unref();
    const asked = this.current;
    this.current = undefined;
    if (asked) end(asked);
    this.next();
  }
}

function refused(why: string): Problem {
  return new Problem("bad-documents", `The documents could not be checked: ${why} Nothing was stored.`);
}
