import { Worker } from "node:worker_threads";
import type { DayDocuments, Timetable } from "../../schemas/index.js";
import type { RunProgress } from "../operations/operation.js";
import type { Beside } from "./beside.js";
import { Sent } from "./parcel.js";
import type { TextInput, ThreadMessage, ThreadStart, ThreadTask } from "./thread.js";

export interface RunOptions {
  readonly onProgress?: (progress: RunProgress) => void;
  readonly onTimetable?: (timetable: Timetable) => void;
  /** Aborting stops and keeps the best so far. */
  readonly signal?: AbortSignal;
  /** Aborting gives the run up: its thread is ended. */
  readonly cancel?: AbortSignal;
  /** What goes on beside the run, and is started once the run knows its problem. */
  readonly beside?: Beside;
  /** Memory of the log that the run shares with others. */
  readonly log?: SharedArrayBuffer;
}

/** What a thread is told, by what it has been sent before. */
type InputFor = (sent: Sent) => ThreadTask["input"];

/** The run was given up because `cancel` was aborted. */
export class Cancelled extends Error {}

/** After a stop is asked for, a thread that does not answer within this is ended. */
const GRACE_MS = 20_000;

/** A search makes much that it forgets at once: with more room for it a tenth less time goes into collecting it. */
const YOUNG_MB = 96;

/**
 * Solver threads that are kept warm from task to task: most of a cold draw is compiling. A task waits until a thread is free; one that
 * crashes its thread fails alone, and the next task gets a new thread.
 */
export class SolverPool {
  private readonly idle: Worker[] = [];
  private readonly waiting: (() => void)[] = [];
  /** With what each has been sent. */
  private readonly threads = new Map<Worker, Sent>();
  private running = 0;
  private closed = false;

  /** Polite threads let the thread that answers requests go first (on Linux, where a thread has a priority). */
  constructor(
    readonly size: number,
    private readonly isPolite = false,
  ) {}

  /** Starts the threads before there is anything to do: they load meanwhile. */
  warm(): void {
    while (this.threads.size < this.size) this.idle.push(this.start());
  }

  /** Tasks in threads now. */
  get busy(): number {
    return this.running;
  }

  /** Runs one operation in a thread of its own; rejects with its fault. */
  run(operation: string, day: DayDocuments, request: unknown, options: RunOptions = {}): Promise<unknown> {
    return this.runTask(operation, (sent) => ({ parcel: sent.pack(day), request }), options);
  }

  /** The same from JSON text to JSON text: this thread parses nothing. */
  async runTexts(operation: string, input: TextInput): Promise<string> {
    return (await this.runTask(operation, () => input, {})) as string;
  }

  private async runTask(operation: string, inputFor: InputFor, options: RunOptions): Promise<unknown> {
    while (this.running >= this.size && !this.closed) await new Promise<void>((resolve) => this.waiting.push(resolve));
    if (this.closed) throw new Error("the solver threads are closed");
    this.running++;
    const thread = this.idle.pop() ?? this.start();
    try {
      // A thread that has ended meanwhile is told all the same: its run fails then.
      const input = inputFor(this.threads.get(thread) ?? new Sent());
      return await this.runIn(thread, operation, input, options);
    } finally {
      this.running--;
      // A task that failed leaves its thread as good as one that did not, unless it was ended with it.
      if (this.threads.has(thread)) this.idle.push(thread);
      this.waiting.shift()?.();
    }
  }

  /** Ends all threads; running tasks fail, and those that wait for a thread. */
  async close(): Promise<void> {
    this.closed = true;
    for (const goOn of this.waiting.splice(0)) goOn();
    await Promise.all([...this.threads.keys()].map((thread) => thread.terminate()));
  }

  private start(): Worker {
    const thread = new Worker(new URL("./thread.js", import.meta.url), {
      workerData: { isPolite: this.isPolite } satisfies ThreadStart,
      resourceLimits: { maxYoungGenerationSizeMb: YOUNG_MB },
    });
    // An idle thread does not keep a program alive that has nothing else to do.
    thread.unref();
    this.threads.set(thread, new Sent());
    // One that fails while it has nothing to do must not take the process with it; its exit follows.
    thread.on("error", () => undefined);
    thread.once("exit", () => {
      this.threads.delete(thread);
      const at = this.idle.indexOf(thread);
      if (at >= 0) this.idle.splice(at, 1);
    });
    return thread;
  }

  private drop(thread: Worker): void {
    this.threads.delete(thread);
    void thread.terminate();
  }

  private runIn(thread: Worker, operation: string, input: ThreadTask["input"], options: RunOptions): Promise<unknown> {
    const { signal, cancel, log } = options;
    const stop = new SharedArrayBuffer(4);
    return new Promise((resolve, reject) => {
      let hardStop: NodeJS.Timeout | undefined;
      const done = (end: () => void): void => {
        clearTimeout(hardStop);
        signal?.removeEventListener("abort", stopAndKeep);
        cancel?.removeEventListener("abort", giveUp);
        thread.off("message", onMessage);
        thread.off("error", onError);
        thread.off("exit", onExit);
        thread.unref();
        end();
      };
      const endWith = (error: Error): void =>
        done(() => {
          this.drop(thread);
          reject(error);
        });
      const stopAndKeep = (): void => {
        Atomics.store(new Int32Array(stop), 0, 1);
        hardStop = setTimeout(() => endWith(new Error("the solver did not stop when asked")), GRACE_MS);
      };
      const giveUp = (): void => endWith(new Cancelled("cancelled"));
      const onMessage = (message: ThreadMessage): void => {
        if ("progress" in message) {
          const progress = message.progress as RunProgress;
          // What goes on beside works out the same problem: while the searches do, it would only keep them from their first plans.
          if (progress.phase !== "assigning") options.beside?.start();
          options.onProgress?.(progress);
        } else if ("timetable" in message) options.onTimetable?.(message.timetable as Timetable);
        else if ("response" in message) done(() => resolve(message.response));
        else done(() => reject(Object.assign(new Error(message.fault), { name: message.name, stack: message.stack })));
      };
      const onError = (error: Error): void => endWith(error);
      const onExit = (code: number): void => endWith(new Error(`the solver ended without an answer (code ${code})`));
      thread.on("message", onMessage);
      thread.on("error", onError);
      thread.on("exit", onExit);
      thread.ref();
      if (signal?.aborted) stopAndKeep();
      else signal?.addEventListener("abort", stopAndKeep, { once: true });
      if (cancel?.aborted) return giveUp();
      cancel?.addEventListener("abort", giveUp, { once: true });
      const board = options.beside?.board.memory;
      const showsTimetables = options.onTimetable !== undefined;
      const task: ThreadTask = {
        operation,
        input,
        stop,
        showsTimetables,
        ...(board ? { board } : {}),
        ...(log ? { log } : {}),
      };
      try {
        thread.postMessage(task);
      } catch (error) {
        // What it was sent and what it has would differ from now on.
        endWith(error as Error);
      }
    });
  }
}
