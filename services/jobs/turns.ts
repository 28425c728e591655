import type { Store } from "../store/store.js";
import type { Transaction } from "../store/transact.js";
import { jobKeys } from "./job.js";

/** What somebody may put on the queue: when it comes up, and what to call once the store has it, or it was refused. */
export interface Turn {
  readonly rank: number;
  readonly settled: () => void;
}

/** Jobs that are about to be accepted here. */
interface Coming {
  count: number;
  rank: number;
}

/** The rank of the job that was begun last: where the queue stands. */
const NOW = "turn";

/**
 * Whose turn it is, by start-time fair queueing (Goyal, Vin and Cheng 1996): a job's rank is one more than that of its owner's job before it, but never less than where
 * the queue stands. So owners come up in turn whatever each of them piles up, and nobody's job waits for ever behind what others send later.
 */
export class Turns {
  private readonly coming = new Map<string, Coming>();

  constructor(private readonly store: Store) {}

  /** Undefined: the owner has as many jobs as it may have. Those that are on their way to the store here count too, or many at once would all find room. */
  async take(owner: string, most: number): Promise<Turn | undefined> {
    const coming = this.coming.get(owner) ?? { count: 0, rank: 0 };
    this.coming.set(owner, coming);
    coming.count++;
    const settled = (): void => {
      coming.count--;
      if (coming.count === 0) this.coming.delete(owner);
    };
    try {
      const before = coming.count;
      const [active, [newest], now] = await Promise.all([
        this.store.count(jobKeys.activeOf(owner)),
        this.store.list(jobKeys.activeOf(owner), { backwards: true, limit: 1 }),
        this.store.get(NOW),
      ]);
      if (active + before > most) {
        settled();
        return undefined;
      }
      const own = newest ? ((JSON.parse(newest.value) as { rank?: number }).rank ?? 0) : 0;
      // The count starts again whenever nothing waits or runs: ranks stay small.
      const stands = now && (active > 0 || (await this.store.count("active/")) > 0) ? Number(now.value) : 0;
      coming.rank = Math.max(coming.rank, own, stands) + 1;
      return { rank: coming.rank, settled };
    } catch (error) {
      settled();
      throw error;
    }
  }
}

/** Where the queue stands once this job is begun. Written over whatever stands there: that it is a little wrong now and then does no harm. */
export function moveOn(tx: Transaction, rank: number): void {
  tx.put(NOW, rank);
}
