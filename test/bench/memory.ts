import { once } from "node:events";
import { Worker } from "node:worker_threads";

export interface Watched<R> {
  readonly result: R;
  /** Resident memory of the process at its greatest while the worker worked, over what it was when the worker was ready. */
  readonly peakMb: number;
}

const POLL_MS = 10;

/** Has a fresh worker answer one task, and watches the process's memory meanwhile. The worker says "ready" once it is loaded. */
export async function askFresh<T, R>(url: URL, task: T): Promise<Watched<R>> {
  const worker = new Worker(url);
  await once(worker, "message");
  const base = process.memoryUsage.rss();
  let peak = base;
  const poll = setInterval(() => {
    peak = Math.max(peak, process.memoryUsage.rss());
  }, POLL_MS);
  try {
    worker.postMessage(task);
    const [result] = (await once(worker, "message")) as [R];
    return { result, peakMb: (Math.max(peak, process.memoryUsage.rss()) - base) / 2 ** 20 };
  } finally {
    clearInterval(poll);
    await worker.terminate();
  }
}
