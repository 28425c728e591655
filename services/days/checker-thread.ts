import { readlinkSync } from "node:fs";
import { parentPort } from "node:worker_threads";
import type { DayDocuments, DocumentName, Issue, Timetable } from "../../schemas/index.js";
import { parseJson, validateDocument } from "../../schemas/validate.js";
import { checkDay } from "../../solver/check/index.js";
import { type Breach, verify } from "../../solver/index.js";
import { checkBody, decoded } from "../api/validation.js";
import { type CsvOrders, checkWithWholeLines, placed, readCsvOrders } from "../csv-orders.js";
import { DAY_FILES, isDayFile, NEEDED } from "../day-files.js";
import { documentsTaken, type Taken } from "../marks/taken.js";
import { operationNamed } from "../operations/index.js";
import { Problem, type ProblemError, type ProblemName } from "../problem.js";

/** Text, or the bytes of it as they came: to read 16 MB of letters with accents takes a tenth of a second, which is this thread's to spend. */
export type RawText = string | Uint8Array;

/** Something that came: one document, or several by name; not looked at yet. */
export type RawInput =
  | { readonly document: DocumentName; readonly text: RawText; readonly isCsv: boolean }
  | { readonly bundle: RawText }
  /** The files of a day folder, text by name. */
  | { readonly files: RawText }
  /** A request with the documents that it is about: { documents, request }. */
  | { readonly sent: RawText }
  /** What a job found. */
  | { readonly taken: Taken };

export interface CheckTask {
  readonly fresh: readonly RawInput[];
  /** The day's documents as stored: in order, JSON. Fresh ones take their place. */
  readonly stored: Readonly<Partial<Record<DocumentName, string>>>;
  /** The operation whose request came with `sent`. */
  readonly operation?: string;
}

/** Checks the request of an operation alone. */
export interface RequestTask {
  readonly operation: string;
  readonly requestText: RawText;
}

export type CheckAnswer =
  /** The first of them, and how many there are. */
  | { readonly issues: readonly Issue[]; readonly count: number }
  /** The verifier refuses the fresh timetable. */
  | { readonly breaches: readonly Breach[] }
  /** The fresh documents as they are stored. */
  | {
      readonly documents: Readonly<Partial<Record<DocumentName, string>>>;
      /** Documents that the day has no more. */
      readonly gone: readonly DocumentName[];
      readonly request?: string;
    }
  | {
      readonly problem: {
        readonly name: ProblemName;
        readonly detail: string;
        readonly errors?: readonly ProblemError[];
      };
    }
  | { readonly fault: string };

const DOCUMENTS: readonly DocumentName[] = ["network", "catalogue", "orders", "happenings", "settings", "timetable"];
/** More would only bury the first ones. */
const MOST_ISSUES = 200;

function missing(document: DocumentName): Issue {
  return {
    code: "file-missing",
    document,
    pointer: "",
    message: `The day has no ${document}.`,
    fix: `Send ${document} too.`,
  };
}

/** Collects what came, by document: values, issues, and where cells of CSV stand. */
class Reading {
  readonly values: Partial<Record<DocumentName, unknown>> = {};
  readonly issues: Issue[] = [];
  /** What came, whether it could be read or not. */
  readonly came = new Set<DocumentName>();
  readonly gone = new Set<DocumentName>();
  isFolder = false;
  csvOrders: CsvOrders | undefined;
  request: unknown;

  read(raw: RawInput): void {
    if ("bundle" in raw) this.changes(objectIn(decoded(raw.bundle)));
    else if ("files" in raw) this.files(objectIn(decoded(raw.files)));
    else if ("taken" in raw) this.bundle({ ...documentsTaken(raw.taken) });
    else if ("sent" in raw) this.sent(objectIn(decoded(raw.sent)));
    else if (raw.isCsv) this.csv(decoded(raw.text));
    else this.json(raw.document, decoded(raw.text));
  }

  private sent(body: Record<string, unknown>): void {
    const { documents, request, ...others } = body;
    const other = Object.keys(others)[0];
    if (other !== undefined)
      throw new Problem("bad-request", `${shown(other)} is not known here; the body has documents and request.`);
    this.bundle(mustBeObject(documents, "documents"));
    this.request = request ?? {};
  }

  /** Documents of a stored day: null takes the timetable away. */
  private changes({ timetable, ...documents }: Record<string, unknown>): void {
    if (timetable === null) this.gone.add("timetable");
    const isLeft = Object.keys(documents).length > 0;
    if (timetable !== null || isLeft) this.bundle(timetable == null ? documents : { ...documents, timetable });
  }

  private files(files: Record<string, unknown>): void {
    this.isFolder = true;
    const entries = Object.entries(files);
    if (entries.length === 0) throw new Problem("bad-request", "The body holds no file.");
    for (const [name, text] of entries) {
      if (!isDayFile(name))
        throw new Problem(
          "bad-request",
          `${shown(name)} is not a file of a day; these are: ${Object.keys(DAY_FILES).join(", ")}.`,
          { errors: [{ detail: "not a file of a day", pointer: pointerTo(name) }] },
        );
      const document = DAY_FILES[name];
      if (text === null && !NEEDED.includes(document)) this.takeAway(document);
      else if (typeof text !== "string")
        throw new Problem("bad-request", `${name} must be a file's text, as a string.`, {
          errors: [{ detail: "not a string", pointer: pointerTo(name) }],
        });
      else if (this.came.has(document)) this.issues.push(ordersTwice());
      else if (name === "orders.csv") this.csv(text);
      else this.json(document, text);
    }
  }

  private takeAway(document: DocumentName): void {
    // A day always has happenings, if only none.
    if (document === "happenings") this.add(document, NO_HAPPENINGS);
    else this.gone.add(document);
  }

  private bundle(documents: Record<string, unknown>): void {
    if (Object.keys(documents).length === 0) throw new Problem("bad-request", "The body holds no document.");
    for (const [name, value] of Object.entries(documents)) {
      if (!(DOCUMENTS as readonly string[]).includes(name))
        throw new Problem("bad-request", `${shown(name)} is not a document; a day has ${DOCUMENTS.join(", ")}.`, {
          errors: [{ detail: "not a document", pointer: pointerTo(name) }],
        });
      this.add(name as DocumentName, value);
    }
  }

  private json(document: DocumentName, text: string): void {
    this.came.add(document);
    const parsed = parseJson(document, text);
    if ("issues" in parsed) this.issues.push(...parsed.issues);
    else this.add(document, parsed.value);
  }

  private csv(text: string): void {
    const read = readCsvOrders(text);
    this.came.add("orders");
    this.csvOrders = read;
    this.issues.push(...read.issues);
    this.values.orders = read.orders;
  }

  private add(document: DocumentName, value: unknown): void {
    this.came.add(document);
    this.values[document] = value;
    this.issues.push(...validateDocument(document, value));
  }
}

const NO_HAPPENINGS = { format: "happenings/1", happenings: [] };

function ordersTwice(): Issue {
  return {
    code: "orders-twice",
    document: "orders",
    pointer: "",
    message: "There are orders.json and orders.csv.",
    fix: "Keep one of them.",
  };
}

function pointerTo(name: string): string {
  return `/${name.slice(0, 60).replaceAll("~", "~0").replaceAll("/", "~1")}`;
}

function shown(name: string): string {
  return JSON.stringify(name.slice(0, 60));
}

function mustBeObject(value: unknown, what: string): Record<string, unknown> {
  if (typeof value === "object" && value !== null && !Array.isArray(value)) return value as Record<string, unknown>;
  throw new Problem("bad-request", `${what} must be an object with documents by name.`);
}

function objectIn(text: string): Record<string, unknown> {
  return mustBeObject(valueIn(text), "the body");
}

function valueIn(text: string): unknown {
  const parsed = parseJson("settings", text);
  if ("value" in parsed) return parsed.value;
  const [issue] = parsed.issues;
  throw new Problem("not-json", `${issue!.message} Line ${issue!.line}, column ${issue!.column}.`);
}

function dayOf(values: Reading["values"], inForce: unknown): DayDocuments {
  const { timetable, ...rest } = values;
  return { ...rest, ...(inForce === undefined ? {} : { inForce }) } as unknown as DayDocuments;
}

function check(task: CheckTask): CheckAnswer {
  const reading = new Reading();
  for (const raw of task.fresh) reading.read(raw);
  const { values: fresh, issues, csvOrders, came, gone, isFolder } = reading;
  const stored = Object.fromEntries(Object.entries(task.stored).map(([name, text]) => [name, JSON.parse(text)]));
  for (const name of gone) delete stored[name];
  const values: Reading["values"] = { ...stored, ...fresh };
  if (values.happenings === undefined) {
    fresh.happenings = NO_HAPPENINGS;
    values.happenings = fresh.happenings;
  }
  issues.push(...NEEDED.filter((name) => values[name] === undefined && !came.has(name)).map((name) => missing(name)));
  if (issues.length === 0) issues.push(...checkDay(dayOf(values, values.timetable)));
  else if (csvOrders && issues.length === csvOrders.issues.length && NEEDED.every((name) => values[name] !== undefined))
    issues.push(...checkWithWholeLines(dayOf(values, values.timetable), csvOrders));
  if (issues.length > 0)
    return {
      issues: issues.slice(0, MOST_ISSUES).map((issue) => placed(issue, csvOrders?.places)),
      count: issues.length,
    };
  // A timetable that comes with a request is only what locks refer to.
  if (fresh.timetable !== undefined && task.operation === undefined) {
    // Locks speak of the timetable that was in force until now; those of a folder, or of a day without one, of what is beside them.
    const isBeside = came.has("happenings") && (isFolder || stored.timetable === undefined);
    const before = isBeside ? fresh.timetable : stored.timetable;
    const breaches = verify(dayOf(values, before), fresh.timetable as Timetable);
    if (breaches.length > 0) return { breaches };
  }
  if (task.operation !== undefined) checkBody(operationNamed(task.operation)!.request, reading.request);
  return {
    ...(task.operation === undefined ? {} : { request: JSON.stringify(reading.request) }),
    documents: Object.fromEntries(Object.entries(fresh).map(([name, value]) => [name, JSON.stringify(value)])),
    gone: [...gone],
  };
}

function checkRequest(task: RequestTask): CheckAnswer {
  const request = valueIn(decoded(task.requestText));
  checkBody(operationNamed(task.operation)!.request, request);
  return { documents: {}, gone: [], request: JSON.stringify(request) };
}

function answer(task: CheckTask | RequestTask): CheckAnswer {
  try {
    return "fresh" in task ? check(task) : checkRequest(task);
  } catch (error) {
    if (!(error instanceof Problem)) return { fault: error instanceof Error ? error.message : String(error) };
    const { errors } = error.more;
    return { problem: { name: error.kind, detail: error.detail, ...(errors ? { errors } : {}) } };
  }
}

/** The thread's own place in /proc, by which its processor time can be read; undefined where there is none. */
function placeOfThread(): string | undefined {
  try {
    return readlinkSync("/proc/thread-self");
  } catch {
    return undefined;
  }
}

/** Said once, when the thread can begin. */
export interface CheckerReady {
  readonly ready: true;
  readonly place?: string;
}

const port = parentPort!;
port.on("message", (task: CheckTask | RequestTask) => port.postMessage(answer(task)));
const place = placeOfThread();
port.postMessage({ ready: true, ...(place === undefined ? {} : { place }) } satisfies CheckerReady);
