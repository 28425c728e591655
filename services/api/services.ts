import type { Registry } from "prom-client";
import type { Days } from "../days/days.js";
import type { Events } from "../events/events.js";
import type { Relay } from "../jobs/relay.js";
import type { Turns } from "../jobs/turns.js";
import type { Queue } from "../queue/queue.js";
import type { SolverPool } from "../solving/pool.js";
import type { Store } from "../store/store.js";

/** What routes work with. */
export interface Services {
  readonly store: Store;
  readonly queue: Queue;
  readonly events: Events;
  readonly days: Days;
  readonly relay: Relay;
  readonly turns: Turns;
  /** For answers that come at once. */
  readonly quick: SolverPool;
  readonly metrics: Registry;
  readonly version: string;
  /** True once the server is ending. */
  readonly isDraining: () => boolean;
}
