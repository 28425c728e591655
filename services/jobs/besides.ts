import type { DayDocuments } from "../../schemas/index.js";
import type { Operation } from "../operations/operation.js";
import { Beside } from "../solving/beside.js";
import type { Job } from "./job.js";

/** What goes on beside the runs of this process: once for all parts of a job, as long as one of them runs here. */
export class Besides {
  private readonly going = new Map<string, { beside: Beside; users: number }>();

  async during<T>(
    job: Job,
    operation: Operation,
    day: DayDocuments,
    request: unknown,
    run: (beside: Beside | undefined) => Promise<T>,
  ): Promise<T> {
    if (!operation.beside?.isWanted(day, request)) return run(undefined);
    const root = job.parent ?? job.id;
    const entry = this.going.get(root) ?? { beside: new Beside(operation.name, day, request, true), users: 0 };
    this.going.set(root, entry);
    entry.users++;
    try {
      return await run(entry.beside);
    } finally {
      entry.users--;
      if (entry.users === 0) {
        this.going.delete(root);
        entry.beside.end();
      }
    }
  }
}
