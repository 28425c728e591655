import { Worker } from "node:worker_threads";
import { Problem } from "../problem.js";
import type { CheckAnswer, CheckerReady, CheckTask, RequestTask } from "./checker-thread.js";
import { ThreadClock } from "./thread-clock.js";

/** No document in order takes so much of a processor's time. */
const MOST_WORK_MS = 20_000;
/** On a machine that is too busy even to begin, nobody waits for ever; but then it is not the document's fault. */
const MOST_WAIT_MS = 120_000;
const LOOK_MS = 250;
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
  private watch: NodeJS.Timeout | undefined;
  /** Where the thread stands in /proc; unset until it has begun. */
  private ready: CheckerReady | undefined;
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
    this.watchOver();
    this.thread.postMessage(asked.task);
  }

  /** The time that a thread takes to start does not count, nor that in which it waits for a core. */
  private watchOver(): void {
    const from = performance.now();
    let clock: ThreadClock | undefined;
    this.watch = setInterval(() => {
      clock ??= this.ready && new ThreadClock(this.ready.place);
      if (clock && clock.worked() > MOST_WORK_MS) this.fail(refused("They took too long to check."));
      else if (performance.now() - from > MOST_WAIT_MS) this.fail(tooBusy());
    }, LOOK_MS);
  }

  private start(): Worker {
    const thread = new Worker(new URL("./checker-thread.js", import.meta.url), {
      resourceLimits: { maxOldGenerationSizeMb: MOST_HEAP_MB, stackSizeMb: 8 },
    });
    this.ready = undefined;
    thread.on("message", (answer: CheckAnswer | CheckerReady) => {
      if (thread !== this.thread) return;
      if ("ready" in answer) this.ready = answer;
      else if ("problem" in answer) {
        const { name, detail, ...more } = answer.problem;
        this.done((asked) => asked.reject(new Problem(name, detail, more)));
      } else if ("fault" in answer) this.done((asked) => asked.reject(refused(answer.fault)));
      else this.done((asked) => asked.resolve(answer));
    });
    thread.on("error", (error) => {
      if (thread === this.thread) this.fail(refused(`They took too much to check (${error.message}).`));
    });
    return thread;
  }

  private fail(why: Problem): void {
    void this.thread?.terminate();
    this.thread = undefined;
    this.done((asked) => asked.reject(why));
  }

  private done(end: (asked: Asked) => void): void {
    clearInterval(this.watch);
    this.thread?.unref();
    const asked = this.current;
    this.current = undefined;
    if (asked) end(asked);
    this.next();
  }
}

function tooBusy(): Problem {
  const detail = "This machine is too busy to check documents just now. Nothing was stored.";
  return new Problem("unavailable", detail, {}, { "Retry-After": "10" });
}

function refused(why: string): Problem {
  return new Problem("bad-documents", `The documents could not be checked: ${why} Nothing was stored.`);
}
