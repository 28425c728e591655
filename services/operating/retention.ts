import type { DocumentName } from "../../schemas/index.js";
import { type DayRecord, DOCUMENTS, dayKeys, type VersionRecord } from "../days/day.js";
import { isFinal, type Job, jobKeys } from "../jobs/job.js";
import type { Store, StoredRecord } from "../store/store.js";
import { type Transaction, transact } from "../store/transact.js";

/** How long things are kept; 0 days: for ever. */
export interface Keep {
  /** Jobs that are over with their results, versions of documents that hold no more, what stations marked. */
  readonly days: number;
  /** The newest versions of each document are kept however old they are: at least so many. */
  readonly versions: number;
  readonly auditDays: number;
}

/** A command that is sent again under its key within this is not done again. */
const ANSWER_DAYS = 7;
const DAY_MS = 86_400_000;
const PAGE = 200;

export interface Dropped {
  jobs: number;
  versions: number;
  marks: number;
  audit: number;
  answers: number;
}

/** Between pages whoever asks something is answered: the embedded store reads here and now, so without it a sweep would be one piece. */
const breathe = (): Promise<void> => new Promise((resolve) => setImmediate(resolve));

/** Records in pages; what is dropped meanwhile does not disturb. */
async function* recordsOf(store: Store, prefix: string): AsyncGenerator<StoredRecord> {
  let after: string | undefined;
  for (;;) {
    const page = await store.list(prefix, { limit: PAGE, ...(after === undefined ? {} : { after }) });
    yield* page;
    await breathe();
    if (page.length < PAGE) return;
    after = page.at(-1)!.key;
  }
}

/** Drops what is older than it is kept for. Many servers may do it at the same time: each drop is a commit that needs what it read unchanged. */
export class Retention {
  constructor(
    private readonly store: Store,
    private readonly keep: Keep,
  ) {}

  async sweep(now: number, isEnding: () => boolean = () => false): Promise<Dropped> {
    const dropped: Dropped = { jobs: 0, versions: 0, marks: 0, audit: 0, answers: 0 };
    const { days, auditDays } = this.keep;
    const before = (age: number): number => (age === 0 ? Number.NEGATIVE_INFINITY : now - age * DAY_MS);
    const limit = before(days);
    // Versions after jobs: those that jobs speak of are kept as long as the jobs.
    const steps: readonly (readonly [keyof Dropped, () => Promise<number>])[] = [
      ["jobs", () => this.jobs(limit)],
      ["versions", () => this.versions(limit)],
      ["marks", () => this.byTime("mark/", "receivedAt", limit)],
      ["audit", () => this.byTime("audit/", "at", before(auditDays))],
      ["answers", () => this.byTime("idem/", "at", before(ANSWER_DAYS))],
    ];
    for (const [name, step] of steps) if (!isEnding()) dropped[name] = await step();
    return dropped;
  }

  private async drop(work: (tx: Transaction) => Promise<boolean>): Promise<number> {
    return (await transact(this.store, work)).value ? 1 : 0;
  }

  /** Records with a time in them. */
  private async byTime(prefix: string, field: string, limit: number): Promise<number> {
    let count = 0;
    for await (const { key, value } of recordsOf(this.store, prefix)) {
      const isOld = (record: Record<string, string> | undefined): boolean => Date.parse(record?.[field] ?? "") < limit;
      if (!isOld(JSON.parse(value) as Record<string, string>)) continue;
      count += await this.drop(async (tx) => {
        if (!isOld(await tx.get<Record<string, string>>(key))) return false;
        tx.delete(key);
        return true;
      });
    }
    return count;
  }

  /** Whole jobs, parts with their parent, when they are over. */
  private async jobs(limit: number): Promise<number> {
    let count = 0;
    const isOld = (job: Job | undefined): job is Job =>
      job !== undefined &&
      isFinal(job) &&
      job.parent === undefined &&
      Date.parse(job.finishedAt ?? job.createdAt) < limit;
    for await (const { value } of recordsOf(this.store, "job/")) {
      const known = JSON.parse(value) as Job;
      if (!isOld(known)) continue;
      count += await this.drop(async (tx) => {
        const job = await tx.get<Job>(jobKeys.job(known.id));
        if (!isOld(job)) return false;
        // A job that was given up may have parts that still end.
        for (const part of job.parts ?? []) {
          const child = await tx.get<Job>(jobKeys.job(part));
          if (child && !isFinal(child)) return false;
        }
        for (const id of [job.id, ...(job.parts ?? [])])
          for (const key of [jobKeys.job(id), jobKeys.input(id), jobKeys.result(id)]) tx.delete(key);
        tx.delete(jobKeys.listed(job.day, job.id));
        return true;
      });
    }
    return count;
  }

  /** Versions that no job speaks of, that do not hold, and that are not among the newest. */
  private async versions(limit: number): Promise<number> {
    const spokenOf = new Set<string>();
    for await (const { value } of recordsOf(this.store, "job/")) {
      const { day, versions } = JSON.parse(value) as Job;
      for (const [name, version] of Object.entries(versions ?? {}))
        spokenOf.add(dayKeys.document(day!, name as DocumentName, version));
    }
    let count = 0;
    for await (const { value } of recordsOf(this.store, dayKeys.days)) {
      const { id, deleted } = JSON.parse(value) as DayRecord;
      // Of a deleted day the last of each stays: the next day of that id counts on from it.
      const newest = deleted ? 1 : this.keep.versions;
      for (const name of DOCUMENTS) count += await this.versionsOf(id, name, newest, limit, spokenOf);
    }
    return count;
  }

  private async versionsOf(
    id: string,
    name: DocumentName,
    newest: number,
    limit: number,
    spokenOf: ReadonlySet<string>,
  ): Promise<number> {
    const entries: VersionRecord[] = [];
    for await (const { value } of recordsOf(this.store, dayKeys.historyOf(id, name)))
      entries.push(JSON.parse(value) as VersionRecord);
    let count = 0;
    for (const { version, at } of entries.slice(0, -newest)) {
      const key = dayKeys.document(id, name, version);
      if (!(Date.parse(at) < limit) || spokenOf.has(key)) continue;
      count += await this.drop(async (tx) => {
        const day = await tx.get<DayRecord>(dayKeys.day(id));
        if (day === undefined || (!day.deleted && day.versions[name] === version)) return false;
        tx.delete(key);
        tx.delete(dayKeys.history(id, name, version));
        return true;
      });
    }
    return count;
  }
}

const FIRST_MS = 60_000;
const EVERY_MS = 3_600_000;

/** Sweeps now and then while a server runs, a minute after its start for the first time. */
export class Sweeper {
  private readonly timers: NodeJS.Timeout[];
  private sweeping: Promise<void> | undefined;
  private closed = false;

  constructor(
    private readonly retention: Retention,
    private readonly onDropped: (dropped: Dropped) => void,
    private readonly onError: (error: unknown) => void,
  ) {
    this.timers = [setTimeout(() => this.sweep(), FIRST_MS), setInterval(() => this.sweep(), EVERY_MS)];
    for (const timer of this.timers) timer.unref();
  }

  async close(): Promise<void> {
    this.closed = true;
    for (const timer of this.timers) clearTimeout(timer);
    await this.sweeping;
  }

  private sweep(): void {
    if (this.sweeping || this.closed) return;
    this.sweeping = this.retention
      .sweep(Date.now(), () => this.closed)
      .then((dropped) => {
        if (Object.values(dropped).some((count) => count > 0)) this.onDropped(dropped);
      }, this.onError)
      .finally(() => {
        this.sweeping = undefined;
      });
  }
}
