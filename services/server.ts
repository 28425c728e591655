import { readFileSync } from "node:fs";
import { createServer, type Server } from "node:http";
import type { AddressInfo } from "node:net";
import { availableParallelism, hostname } from "node:os";
import { join } from "node:path";
import { LOCAL } from "./api/actor.js";
import { createApp } from "./api/app.js";
import { mustBeFromHere } from "./api/loopback.js";
import { ROUTES } from "./api/routes/index.js";
import type { Services } from "./api/services.js";
import { Checker } from "./days/checker.js";
import { Days } from "./days/days.js";
import { dayOfTexts } from "./days/texts.js";
import { type Events, LocalEvents } from "./events/events.js";
import { Relay } from "./jobs/relay.js";
import { JobWorker, type WorkerWatch } from "./jobs/worker.js";
import { packageRoot } from "./package-root.js";
import { LocalQueue } from "./queue/local.js";
import type { Queue } from "./queue/queue.js";
import { SolverPool } from "./solving/pool.js";
import { defaultLanes } from "./solving/run.js";
import { SqliteStore } from "./store/sqlite.js";
import type { Store } from "./store/store.js";

export interface ServerOptions {
  readonly host: string;
  /** 0: any that is free. */
  readonly port: number;
  readonly bodyLimitBytes: number;
}

/** The parts that a server and a worker share. */
export interface Backing {
  readonly store: Store;
  readonly queue: Queue;
  readonly events: Events;
}

export function embeddedBacking(dataFolder: string): Backing & { store: SqliteStore } {
  return {
    store: new SqliteStore(join(dataFolder, "deckshelf.db")),
    queue: new LocalQueue(),
    events: new LocalEvents(),
  };
}

const SILENT: WorkerWatch = {
  began: () => undefined,
  ended: () => undefined,
  fenced: () => undefined,
  refused: () => undefined,
  failed: () => undefined,
};

const HEARTBEAT_MS = 2000;
/** Connections that do not end by themselves are cut after this. */
const CLOSE_MS = 5000;

export function packageVersion(): string {
  return (JSON.parse(readFileSync(join(packageRoot(), "package.json"), "utf8")) as { version: string }).version;
}

/** Solver threads that take jobs from the queue. */
export function startWorker(backing: Backing, days: Days, relay: Relay, threads: number, lanes: number): JobWorker {
  const pool = new SolverPool(threads);
  return new JobWorker({
    ...backing,
    pool,
    lanes,
    name: `${hostname()}.${process.pid}`,
    heartbeatMs: HEARTBEAT_MS,
    dayOf: async (job, input) => (input.texts ? dayOfTexts(input.texts) : days.documentsOf(job)),
    kick: () => relay.kick(),
    watch: SILENT,
  });
}

/** A running server: API, and if it is the embedded one also relay and workers. */
export class RunningServer {
  private draining = false;
  private readonly http: Server;
  private readonly checker = new Checker();
  private readonly quick = new SolverPool(1);
  readonly services: Services;
  private readonly worker: JobWorker | undefined;

  constructor(
    private readonly backing: Backing,
    options: ServerOptions,
    withWorker: boolean,
  ) {
    const days = new Days(backing.store, this.checker);
    const relay = new Relay(backing.store, backing.queue);
    this.services = {
      ...backing,
      days,
      relay,
      quick: this.quick,
      version: packageVersion(),
      isDraining: () => this.draining,
    };
    const app = createApp({
      services: this.services,
      routes: ROUTES,
      authenticate: async (request) => {
        mustBeFromHere(request);
        return LOCAL;
      },
      bodyLimitBytes: options.bodyLimitBytes,
      boardFolder: join(packageRoot(), "dist", "board"),
      onFault: (error) => process.stderr.write(`${error instanceof Error ? error.stack : String(error)}\n`),
    });
    this.http = createServer(app);
    const lanes = defaultLanes();
    this.worker = withWorker
      ? startWorker(backing, days, relay, Math.max(1, availableParallelism()), lanes)
      : undefined;
  }

  /** Listens; resolves with the address. */
  async listen(host: string, port: number): Promise<string> {
    await new Promise<void>((resolve, reject) => {
      this.http.once("error", reject);
      this.http.listen(port, host, resolve);
    });
    this.services.relay.start();
    const { port: actual } = this.http.address() as AddressInfo;
    return `http://${host.includes(":") ? `[${host}]` : host}:${actual}`;
  }

  /** Takes no more work, gives what runs back to the queue, and ends. */
  async close(): Promise<void> {
    this.draining = true;
    const closed = new Promise<void>((resolve) => this.http.close(() => resolve()));
    this.http.closeIdleConnections();
    const cut = setTimeout(() => this.http.closeAllConnections(), CLOSE_MS);
    await this.worker?.close();
    this.http.closeAllConnections();
    await closed;
    clearTimeout(cut);
    await this.services.relay.close();
    await Promise.all([
      this.checker.close(),
      this.quick.close(),
      this.backing.queue.close(),
      this.backing.events.close(),
    ]);
    await this.backing.store.close();
  }
}
