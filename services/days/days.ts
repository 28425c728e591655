import type { DayDocuments, DocumentName } from "../../schemas/index.js";
import type { Job } from "../jobs/job.js";
import { badDocuments, breaksRules, Problem } from "../problem.js";
import type { Store } from "../store/store.js";
import { type Transaction, transact } from "../store/transact.js";
import type { Checker } from "./checker.js";
import type { RawInput, RawText } from "./checker-thread.js";
import { type DayRecord, DOCUMENTS, dayKeys, type VersionRecord } from "./day.js";
import { TextCache } from "./text-cache.js";
import { dayOfTexts, type Texts } from "./texts.js";

/** Who changes something, when, and why. */
export interface Author {
  readonly by: string;
  readonly at: string;
  readonly note?: string;
  /** Restored from this version. */
  readonly from?: number;
}

export interface CheckedDocuments {
  /** Of the stored documents that these were checked against. */
  readonly against: Readonly<Partial<Record<DocumentName, number>>>;
  readonly documents: Readonly<Partial<Record<DocumentName, string>>>;
  /** Documents that the day has no more. */
  readonly gone: readonly DocumentName[];
}

/** Days and their documents. What is stored of a day has always passed its checks, all documents together. */
export class Days {
  private readonly cache = new TextCache();

  constructor(
    private readonly store: Store,
    private readonly checker: Checker,
  ) {}

  async record(id: string): Promise<DayRecord> {
    const record = await this.store.get(dayKeys.day(id));
    const day = record && (JSON.parse(record.value) as DayRecord);
    if (!day || day.deleted) throw noDay(id);
    return day;
  }

  async list(): Promise<DayRecord[]> {
    const records = await this.store.list(dayKeys.days, { limit: 10_000 });
    return records.map(({ value }) => JSON.parse(value) as DayRecord).filter((day) => !day.deleted);
  }

  /** A document's text at a version. */
  async text(id: string, document: DocumentName, version: number): Promise<string> {
    const key = dayKeys.document(id, document, version);
    const cached = this.cache.get(key);
    if (cached !== undefined) return cached;
    const record = await this.store.get(key);
    if (!record) throw new Problem("not-found", `${document} of ${id} has no version ${version}.`);
    this.cache.set(key, record.value);
    return record.value;
  }

  /** The documents of a day at given versions, as the solver takes them. */
  async documents(id: string, versions: DayRecord["versions"]): Promise<DayDocuments> {
    return dayOfTexts(await this.texts(id, versions));
  }

  /** For workers: the documents that a job was accepted with. */
  async documentsOf(job: Job): Promise<DayDocuments> {
    return this.documents(job.day!, job.versions!);
  }

  async texts(id: string, versions: DayRecord["versions"]): Promise<Texts> {
    const entries = Object.entries(versions) as [DocumentName, number][];
    const texts = await Promise.all(entries.map(([name, version]) => this.text(id, name, version)));
    return Object.fromEntries(entries.map(([name], i) => [name, texts[i]!]));
  }

  async history(id: string, document: DocumentName, before?: number, limit = 100): Promise<VersionRecord[]> {
    await this.record(id);
    const records = await this.store.list(dayKeys.historyOf(id, document), {
      backwards: true,
      limit,
      ...(before === undefined ? {} : { after: dayKeys.history(id, document, before) }),
    });
    return records.map(({ value }) => JSON.parse(value) as VersionRecord);
  }

  /** Checks what came, together with the documents of the day that it does not replace. Problem: what is wrong with it. */
  async check(fresh: readonly RawInput[], id?: string): Promise<CheckedDocuments> {
    const versions = id === undefined ? {} : (await this.record(id)).versions;
    const stored = id === undefined ? {} : await this.texts(id, versions);
    const answer = await this.checker.check({ fresh, stored });
    if ("issues" in answer) throw badDocuments(answer.issues, answer.count);
    if ("breaches" in answer) throw breaksRules(answer.breaches);
    const { documents, gone } = answer;
    // A fresh timetable was verified against the one in force, so that counts as well.
    const against = Object.fromEntries(
      (Object.entries(versions) as [DocumentName, number][]).filter(
        ([name]) => documents[name] === undefined || name === "timetable",
      ),
    );
    return { against, documents, gone };
  }

  /** Reads and checks a request that came with the documents that it is about. */
  async readSent(text: RawText, operation: string): Promise<{ documents: Texts; request: string }> {
    const answer = await this.checker.check({ fresh: [{ sent: text }], stored: {}, operation });
    if ("issues" in answer) throw badDocuments(answer.issues, answer.count);
    if ("breaches" in answer) throw breaksRules(answer.breaches);
    return { documents: answer.documents, request: answer.request! };
  }

  /** Checks an operation's request; answers with it as it is stored. */
  async readRequest(requestText: RawText, operation: string): Promise<string> {
    const answer = await this.checker.check({ operation, requestText });
    return (answer as { request: string }).request;
  }

  /** Adds checked documents to a commit as the next versions. False: other documents changed since the check; check again. */
  async put(tx: Transaction, id: string, checked: CheckedDocuments, author: Author): Promise<DayRecord | false> {
    const day = await this.recordIn(tx, id);
    for (const [name, version] of Object.entries(checked.against))
      if (day.versions[name as DocumentName] !== version) return false;
    return this.write(tx, day, checked, author);
  }

  /** `life`: brings back the day that had it (0: the first of its id) instead of making another one. */
  async create(
    tx: Transaction,
    id: string,
    checked: CheckedDocuments,
    author: Author,
    life?: number,
  ): Promise<DayRecord> {
    const before = await tx.get<DayRecord>(dayKeys.day(id));
    if (before && !before.deleted) throw new Problem("exists-already", `There is a day ${id} already.`);
    const change = before?.change ?? 0;
    if (life !== undefined && life > change) throw new Problem("bad-request", `No day ${id} had the life ${life}.`);
    const own = life ?? (before ? change + 1 : 0);
    const empty: DayRecord = {
      id,
      versions: before?.versions ?? {},
      change,
      createdAt: author.at,
      changedAt: author.at,
      ...(own > 0 ? { life: own } : {}),
    };
    const record = await this.write(tx, empty, checked, author);
    // What a deleted day of this id had, and this one has not, holds no more.
    const versions = Object.fromEntries(
      Object.entries(record.versions).filter(([name]) => checked.documents[name as DocumentName] !== undefined),
    );
    const fresh = { ...record, versions };
    tx.put(dayKeys.day(id), fresh);
    return fresh;
  }

  async delete(tx: Transaction, id: string, author: Author): Promise<void> {
    const day = await this.recordIn(tx, id);
    tx.put(dayKeys.day(id), { ...day, deleted: true, change: day.change + 1, changedAt: author.at });
  }

  /** Takes a document away that may be missing. */
  async remove(tx: Transaction, id: string, document: DocumentName, author: Author): Promise<DayRecord> {
    const day = await this.recordIn(tx, id);
    const { [document]: gone, ...versions } = day.versions;
    if (gone === undefined) throw new Problem("not-found", `${id} has no ${document}.`);
    const next = { ...day, versions, change: day.change + 1, changedAt: author.at };
    tx.put(dayKeys.day(id), next);
    return next;
  }

  async findIn(tx: Transaction, id: string): Promise<DayRecord | undefined> {
    const day = await tx.get<DayRecord>(dayKeys.day(id));
    return day?.deleted ? undefined : day;
  }

  async recordIn(tx: Transaction, id: string): Promise<DayRecord> {
    const day = await this.findIn(tx, id);
    if (!day) throw noDay(id);
    return day;
  }

  /** Loads a day in one go, for the demo; false when there is one already. */
  async load(id: string, fresh: readonly RawInput[], author: Author): Promise<boolean> {
    if (await this.store.get(dayKeys.day(id))) return false;
    const checked = await this.check(fresh);
    await transact(this.store, (tx) => this.create(tx, id, checked, author));
    return true;
  }

  private async write(
    tx: Transaction,
    day: DayRecord,
    { documents, gone }: CheckedDocuments,
    author: Author,
  ): Promise<DayRecord> {
    const versions: Partial<Record<DocumentName, number>> = { ...day.versions };
    for (const name of DOCUMENTS) {
      const text = documents[name];
      if (text === undefined) continue;
      const version = await this.nextVersion(tx, day, name);
      versions[name] = version;
      tx.putText(dayKeys.document(day.id, name, version), text);
      const entry: VersionRecord = { version, ...author, bytes: Buffer.byteLength(text) };
      tx.put(dayKeys.history(day.id, name, version), entry);
    }
    for (const name of gone) delete versions[name];
    const next: DayRecord = { ...day, versions, change: day.change + 1, changedAt: author.at };
    tx.put(dayKeys.day(day.id), next);
    return next;
  }

  /** One more than any that there was, also when the document was taken away in between. */
  private async nextVersion(tx: Transaction, day: DayRecord, document: DocumentName): Promise<number> {
    const [latest] = await this.store.list(dayKeys.historyOf(day.id, document), { backwards: true, limit: 1 });
    const known = latest ? (JSON.parse(latest.value) as VersionRecord).version : 0;
    const version = Math.max(known, day.versions[document] ?? 0) + 1;
    tx.expect(dayKeys.history(day.id, document, version), 0);
    return version;
  }
}

function noDay(id: string): Problem {
  return new Problem("not-found", `There is no day ${id}.`);
}
