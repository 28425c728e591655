import type { DayDocuments } from "../../schemas/index.js";
import type { Operation } from "../operations/operation.js";
import { Beside } from "../solving/beside.js";
import type { RunOptions } from "../solving/pool.js";
import { SharedLog } from "../solving/shared-log.js";
import type { Job } from "./job.js";

type Shared = Pick<RunOptions, "beside" | "log">;

/** What a job, or its parts that run in this process, share as long as one of them runs here: what goes on beside, and the log by which parts search together. */
export class Sharing {
  private readonly going = new Map<string, { shared: Shared; users: number }>();

  async during<T>(
    job: Job,
    operation: Operation,
    day: DayDocuments,
    request: unknown,
    run: (shared: Shared) => Promise<T>,
  ): Promise<T> {
    const root = job.parent ?? job.id;
    const entry = this.going.get(root) ?? { shared: shareFor(job, operation, day, request), users: 0 };
    this.going.set(root, entry);
    entry.users++;
    try {
      return await run(entry.shared);
    } finally {
      entry.users--;
      if (entry.users === 0) {
        this.going.delete(root);
        entry.shared.beside?.end();
      }
    }
  }
}

function shareFor(job: Job, operation: Operation, day: DayDocuments, request: unknown): Shared {
  const isOnePart = job.parent !== undefined;
  return {
    ...(operation.beside?.isWanted(day, request) ? { beside: new Beside(operation.name, day, request, true) } : {}),
    ...(operation.isTogether && isOnePart ? { log: SharedLog.memory() } : {}),
  };
}
