import { parentPort } from "node:worker_threads";
import type { DayDocuments } from "../../schemas/index.js";
import { createLp, createSmallEngine, loadHighs } from "../../solver/index.js";
import { operationNamed } from "../operations/index.js";

/** One task for the thread. */
export interface ThreadTask {
  readonly operation: string;
  readonly day: DayDocuments;
  readonly request: unknown;
  /** One flag: set to 1 to stop and keep. */
  readonly stop: SharedArrayBuffer;
}

/** What the thread says. After `response` or `fault` it is free for the next task. */
export type ThreadMessage =
  | { readonly progress: object }
  | { readonly timetable: unknown }
  | { readonly response: unknown }
  | { readonly fault: string; readonly stack?: string };

const port = parentPort!;
const now = (): number => performance.now();
const lp = loadHighs().then((highs) => createLp(createSmallEngine(now), highs));

async function work(task: ThreadTask): Promise<ThreadMessage> {
  const flag = new Int32Array(task.stop);
  try {
    const response = await operationNamed(task.operation)!.run(task.day, task.request, {
      now,
      lp: await lp,
      onProgress: (progress) => port.postMessage({ progress } satisfies ThreadMessage),
      onTimetable: (timetable) => port.postMessage({ timetable } satisfies ThreadMessage),
      shouldStop: () => Atomics.load(flag, 0) === 1,
    });
    return { response };
  } catch (error) {
    if (!(error instanceof Error)) return { fault: String(error) };
    return error.stack === undefined ? { fault: error.message } : { fault: error.message, stack: error.stack };
  }
}

port.on("message", (task: ThreadTask) => {
  void work(task).then((message) => port.postMessage(message));
});
