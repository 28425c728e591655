import { readFileSync } from "node:fs";

/**
 * How long a thread has worked, in ms: the processor's time on Linux, where a thread that only waits for a core is not held to have worked; elsewhere the wall's.
 */
export class ThreadClock {
  private readonly from: number;

  /** `place`: of the thread, in /proc. */
  constructor(private readonly place: string | undefined) {
    this.from = this.now();
  }

  worked(): number {
    return this.now() - this.from;
  }

  private now(): number {
    if (this.place === undefined) return performance.now();
    try {
      return Number(readFileSync(`/proc/${this.place}/schedstat`, "latin1").split(" ")[0]) / 1e6;
    } catch {
      // The thread is gone: whoever waits for it is told otherwise.
      return this.from ?? 0;
    }
  }
}
