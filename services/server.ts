import { readFileSync } from "node:fs";
import { createServer, type Server } from "node:http";
import type { AddressInfo } from "node:net";
import { hostname } from "node:os";
import { join } from "node:path";
import { byToken, isLetIn, openToThisMachine } from "./access/authenticate.js";
import { oncePerRequest } from "./access/once.js";
import { createApp } from "./api/app.js";
import { CHECKED_HERE, ROUTES } from "./api/routes/index.js";
import type { Services } from "./api/services.js";
import { prepareChecks } from "./api/validation.js";
import { Checker } from "./days/checker.js";
import { Days } from "./days/days.js";
import { dayOfTexts } from "./days/texts.js";
import { type Events, LocalEvents } from "./events/events.js";
import { RedisEvents } from "./events/redis.js";
import { Relay } from "./jobs/relay.js";
import { Turns } from "./jobs/turns.js";
import { JobWorker } from "./jobs/worker.js";
import { asMarkedByNow } from "./marks/standing.js";
import type { Config } from "./operating/config.js";
import { limitRequests, watchRequests } from "./operating/http-watch.js";
import type { Logger } from "./operating/log.js";
import { Metrics, workerWatch } from "./operating/metrics.js";
import { Retention, Sweeper } from "./operating/retention.js";
import { packageRoot } from "./package-root.js";
import { BullJobQueue } from "./queue/bull.js";
import { LocalQueue } from "./queue/local.js";
import type { Queue } from "./queue/queue.js";
import { SolverPool } from "./solving/pool.js";
import { openStore } from "./store/open.js";
import type { Store } from "./store/store.js";

/** What stands behind a server and its workers: one process's own, or shared through Redis. */
export interface Backing {
  readonly store: Store;
  readonly queue: Queue;
  readonly events: Events;
}

export function openBacking(config: Config): Backing {
  const { redisUrl } = config;
  return redisUrl === undefined
    ? { store: openStore(config), queue: new LocalQueue(), events: new LocalEvents() }
    : { store: openStore(config), queue: new BullJobQueue(redisUrl), events: new RedisEvents(redisUrl) };
}

/** A lease is renewed so many times before others would take it for lost. */
const BEATS_PER_LEASE = 5;

/** A relay with the times of the configuration. */
export function startableRelay({ store, queue }: Backing, config: Config, log: Logger): Relay {
  const leaseMs = 1000 * config.leaseSeconds;
  const times = { outboxMs: 1000, sweepMs: leaseMs / BEATS_PER_LEASE, leaseMs };
  return new Relay(store, queue, times, (error) =>
    log.warn({ error: error instanceof Error ? error.message : String(error) }, "relay waits"),
  );
}

/** Connections that do not end by themselves are cut after this. */
const CLOSE_MS = 5000;

export function packageVersion(): string {
  return (JSON.parse(readFileSync(join(packageRoot(), "package.json"), "utf8")) as { version: string }).version;
}

/** Solver threads that take jobs from the queue, and the relay that brings jobs there. */
export class RunningWorker {
  private readonly pool: SolverPool;
  private readonly worker: JobWorker;

  constructor(backing: Backing, days: Days, relay: Relay, config: Config, log: Logger, metrics: Metrics) {
    this.pool = new SolverPool(config.threads, true);
    this.worker = new JobWorker({
      ...backing,
      pool: this.pool,
      lanes: config.lanes,
      name: `${hostname()}.${process.pid}`,
      heartbeatMs: (1000 * config.leaseSeconds) / BEATS_PER_LEASE,
      dayOf: async (job, { texts, told }) => {
        const day = texts ? dayOfTexts(texts) : await days.documentsOf(job);
        return told ? asMarkedByNow(day, told) : day;
      },
      kick: () => relay.kick(),
      watch: workerWatch(metrics, log),
    });
  }

  /** Waits so long for what is in hand, then gives it back to the queue. */
  async close(drainSeconds: number): Promise<void> {
    const late = setTimeout(() => void this.worker.close(), 1000 * drainSeconds);
    if (drainSeconds === 0) await this.worker.close();
    else await this.worker.drain(false);
    clearTimeout(late);
    await this.pool.close();
  }
}

/** A running server: API, relay and, in the embedded product, workers. */
export class RunningServer {
  private draining = false;
  private readonly http: Server;
  private readonly checker = new Checker();
  private readonly quick = new SolverPool(1);
  private readonly worker: RunningWorker | undefined;
  private readonly sweeper: Sweeper;
  readonly services: Services;

  constructor(
    private readonly backing: Backing,
    config: Config,
    log: Logger,
    withWorker: boolean,
  ) {
    const { store, queue } = backing;
    const metrics = new Metrics(queue);
    const days = new Days(store, this.checker);
    const relay = startableRelay(backing, config, log);
    this.services = {
      ...backing,
      days,
      relay,
      turns: new Turns(store),
      quick: this.quick,
      metrics: metrics.registry,
      version: packageVersion(),
      isDraining: () => this.draining,
    };
    prepareChecks(CHECKED_HERE);
    const anew = config.needsLogin ? byToken(store) : openToThisMachine;
    const authenticate = oncePerRequest(anew);
    const app = createApp({
      services: this.services,
      routes: ROUTES,
      authenticate,
      stillMay: async (request) => await isLetIn(anew(request)),
      bodyLimitBytes: config.bodyLimitBytes,
      boardFolder: join(packageRoot(), "dist", "board"),
      isBehindProxy: config.isBehindProxy,
      before: [
        watchRequests(log, metrics),
        ...(config.needsLogin ? [limitRequests(config.requestsPer10s, authenticate)] : []),
      ],
      onFault: (error, request) =>
        log.error({ route: request.path, fault: error instanceof Error ? error.stack : String(error) }, "fault"),
    });
    this.http = createServer(app);
    // Slow senders hold a connection only so long.
    this.http.headersTimeout = 15_000;
    this.http.requestTimeout = 60_000;
    this.sweeper = new Sweeper(
      new Retention(store, config.keep),
      (dropped) => log.info(dropped, "dropped what was kept long enough"),
      (error) => log.warn({ error: error instanceof Error ? error.message : String(error) }, "nothing dropped"),
    );
    this.worker = withWorker ? new RunningWorker(backing, days, relay, config, log, metrics) : undefined;
  }

  /** Listens; resolves with the address. */
  async listen(host: string, port: number): Promise<string> {
    await new Promise<void>((resolve, reject) => {
      this.http.once("error", reject);
      this.http.listen(port, host, () => {
        this.http.off("error", reject);
        resolve();
      });
    });
    this.services.relay.start();
    const { port: actual } = this.http.address() as AddressInfo;
    return `http://${host.includes(":") ? `[${host}]` : host}:${actual}`;
  }

  /** Takes no more work, waits so long for what its workers have in hand, and ends. */
  async close(drainSeconds = 0): Promise<void> {
    this.draining = true;
    const closed = new Promise<void>((resolve) => this.http.close(() => resolve()));
    this.http.closeIdleConnections();
    const cut = setTimeout(() => this.http.closeAllConnections(), CLOSE_MS);
    await this.worker?.close(drainSeconds);
    this.services.relay.kick();
    this.http.closeIdleConnections();
    const { queue, events, store } = this.backing;
    // Event streams end only when they are cut.
    setTimeout(() => this.http.closeAllConnections(), 200).unref();
    await closed;
    clearTimeout(cut);
    await Promise.all([this.services.relay.close(), this.sweeper.close()]);
    await Promise.all([this.checker.close(), this.quick.close(), queue.close(), events.close()]);
    await store.close();
  }
}
