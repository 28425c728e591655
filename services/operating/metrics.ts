import { Counter, collectDefaultMetrics, Gauge, Histogram, Registry } from "prom-client";
import type { Job } from "../jobs/job.js";
import type { WorkerWatch } from "../jobs/worker.js";
import type { Queue } from "../queue/queue.js";

/** Numbers for Prometheus. Nothing in them names a person, a customer or a secret. */
export class Metrics {
  readonly registry = new Registry();
  private readonly requests = new Histogram({
    name: "deckshelf_http_request_seconds",
    help: "Time to answer a request, by route and status.",
    labelNames: ["route", "status"],
    buckets: [0.002, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 10],
    registers: [this.registry],
  });
  private readonly solves = new Histogram({
    name: "deckshelf_job_seconds",
    help: "Time that a worker had a job, by operation and how it ended.",
    labelNames: ["operation", "state"],
    buckets: [0.1, 0.5, 1, 2.5, 5, 10, 30, 60, 300, 1800],
    registers: [this.registry],
  });
  private readonly gap = new Histogram({
    name: "deckshelf_timetable_gap_percent",
    help: "Gap between cost and bound of the timetables made, where there is a bound.",
    buckets: [0, 1, 2, 5, 10, 20, 50, 100],
    registers: [this.registry],
  });
  private readonly wanting = new Gauge({
    name: "deckshelf_orders_wanting",
    help: "Orders of the last timetable made that are late or short.",
    labelNames: ["kind"],
    registers: [this.registry],
  });
  private readonly refusals = new Counter({
    name: "deckshelf_verifier_refusals_total",
    help: "Timetables that the verifier refused: faults of the program.",
    registers: [this.registry],
  });
  private readonly fenced = new Counter({
    name: "deckshelf_fenced_total",
    help: "Answers of workers that had lost their lease, refused.",
    registers: [this.registry],
  });
  private readonly failures = new Counter({
    name: "deckshelf_worker_failures_total",
    help: "Jobs that a worker could not bring to an end.",
    registers: [this.registry],
  });

  constructor(queue: Queue) {
    collectDefaultMetrics({ register: this.registry, prefix: "deckshelf_" });
    new Gauge({
      name: "deckshelf_queue_depth",
      help: "Messages that wait on the queue.",
      registers: [this.registry],
      async collect() {
        this.set(await queue.depth().catch(() => Number.NaN));
      },
    });
  }

  request(route: string, status: number, seconds: number): void {
    this.requests.observe({ route, status: String(status) }, seconds);
  }

  ended(job: Job, seconds: number): void {
    this.solves.observe({ operation: job.operation, state: job.state }, seconds);
    const { figures } = job;
    if (!figures || job.parent !== undefined) return;
    this.wanting.set({ kind: "late" }, figures.late);
    this.wanting.set({ kind: "short" }, figures.short);
    if (figures.bound !== undefined && figures.bound > 0)
      this.gap.observe((100 * (figures.cost - figures.bound)) / figures.bound);
  }

  refused(): void {
    this.refusals.inc();
  }

  lostLease(): void {
    this.fenced.inc();
  }

  failed(): void {
    this.failures.inc();
  }
}

interface WatchLog {
  info(fields: object, text: string): void;
  warn(fields: object, text: string): void;
  error(fields: object, text: string): void;
}

/** What a worker does, in the log and the metrics. */
export function workerWatch(metrics: Metrics, log: WatchLog): WorkerWatch {
  const about = (job: Job): object => ({ job: job.id, operation: job.operation, attempt: job.attempt });
  return {
    began: (job) => log.info(about(job), "job began"),
    ended: (job, seconds) => {
      metrics.ended(job, seconds);
      log.info({ ...about(job), state: job.state, seconds }, "job left this worker");
    },
    fenced: (job) => {
      metrics.lostLease();
      log.warn({ job }, "lease lost; its answer was refused");
    },
    refused: (job, breaches) => {
      metrics.refused();
      log.error({ job, breaches }, "the verifier refused a timetable");
    },
    failed: (job, error) => {
      metrics.failed();
      log.error({ job, error: error instanceof Error ? error.message : String(error) }, "job could not be ended");
    },
  };
}
