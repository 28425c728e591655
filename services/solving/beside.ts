import { Worker } from "node:worker_threads";
import type { DayDocuments } from "../../schemas/index.js";
import { BoundBoard } from "./bound-board.js";
import type { ThreadStart, ThreadTask } from "./thread.js";

/**
 * The thread that bounds a run while its lanes search. It is no part of the pool and ends with the lanes. Once
 * it has something to show it stands back and takes what time the lanes leave. When it fails there is no bound, and nothing else is different.
 */
export class Beside {
  readonly board = new BoundBoard();
  private thread: Worker | undefined;
  private readonly task: ThreadTask;

  constructor(
    operation: string,
    day: DayDocuments,
    request: unknown,
    private readonly isPolite = false,
  ) {
    const { memory } = this.board;
    this.task = { operation, input: { day, request }, stop: new SharedArrayBuffer(4), board: memory, isBeside: true };
  }

  /** Called when the first lane knows its problem; later calls do nothing. */
  start(): void {
    if (this.thread) return;
    this.thread = new Worker(new URL("./thread.js", import.meta.url), {
      workerData: { isPolite: this.isPolite } satisfies ThreadStart,
    });
    this.thread.unref();
    this.thread.on("error", () => undefined);
    this.thread.postMessage(this.task);
  }

  end(): void {
    void this.thread?.terminate();
  }
}
