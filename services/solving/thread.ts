import { setPriority } from "node:os";
import { parentPort, workerData } from "node:worker_threads";
import type { DayDocuments } from "../../schemas/index.js";
import { createLp, createSmallEngine, loadHighs } from "../../solver/index.js";
import { dayOfTexts, type Texts } from "../days/texts.js";
import { asMarkedByNow } from "../marks/standing.js";
import type { Told } from "../marks/told.js";
import { operationNamed } from "../operations/index.js";
import type { RunContext } from "../operations/operation.js";
import { BoundBoard } from "./bound-board.js";
import { type Parcel, Received } from "./parcel.js";
import { SharedLog } from "./shared-log.js";

export interface TextInput {
  readonly dayTexts: Texts;
  readonly requestText: string;
  readonly told?: Told;
}

export type DayInput = { readonly request: unknown } & (
  | { readonly day: DayDocuments }
  /** For threads that are kept. */
  | { readonly parcel: Parcel }
);

/** One task for the thread. */
export interface ThreadTask {
  readonly operation: string;
  /** Parsed, or as JSON texts that are parsed in the thread; then the response comes as JSON text too. */
  readonly input: DayInput | TextInput;
  /** One flag: set to 1 to stop and keep. */
  readonly stop: SharedArrayBuffer;
  /** Send the best timetables so far. */
  readonly showsTimetables?: boolean;
  /** Where the run's bound stands. */
  readonly board?: SharedArrayBuffer;
  /** What the run's parts share. */
  readonly log?: SharedArrayBuffer;
  /** Do what the operation does beside its run, not the run itself. */
  readonly isBeside?: boolean;
}

/** What the thread says. After `response` or `fault` it is free for the next task. */
export type ThreadMessage =
  | { readonly progress: object }
  | { readonly timetable: unknown }
  | { readonly response: unknown }
  | { readonly fault: string; readonly name: string; readonly stack?: string };

const port = parentPort!;
const now = (): number => performance.now();
const lp = loadHighs().then((highs) => createLp(createSmallEngine(now), highs));

/** How this thread is started. */
export interface ThreadStart {
  /** Behind whoever answers requests. */
  readonly isPolite?: boolean;
}

/** On Linux a thread has a priority of its own; elsewhere the whole program would get it. */
function beNice(niceness: number): void {
  if (process.platform === "linux" && niceness > 0) setPriority(0, niceness);
}

/** A tenth of the share of a thread that answers requests, when both want a core. */
const POLITE = 10;
const MOST = 19;
const niceness = (workerData as ThreadStart | null)?.isPolite ? POLITE : 0;
beNice(niceness);

/** A tenth of the share of the run that this goes on beside. */
const standBack = (): void => beNice(Math.min(MOST, niceness + 10));

function parsed({ dayTexts, requestText, told }: TextInput): { day: DayDocuments; request: unknown } {
  const day = dayOfTexts(dayTexts);
  return { day: told ? asMarkedByNow(day, told) : day, request: JSON.parse(requestText) as unknown };
}

const received = new Received();

function unpacked(input: DayInput): { day: DayDocuments; request: unknown } {
  return { day: "parcel" in input ? received.unpack(input.parcel) : input.day, request: input.request };
}

async function work(task: ThreadTask): Promise<ThreadMessage> {
  const flag = new Int32Array(task.stop);
  const operation = operationNamed(task.operation)!;
  const log = task.log && new SharedLog(task.log);
  try {
    const isText = "dayTexts" in task.input;
    const { day, request } = "dayTexts" in task.input ? parsed(task.input) : unpacked(task.input);
    const context: RunContext = {
      now,
      lp: await lp,
      onProgress: (progress) => port.postMessage({ progress } satisfies ThreadMessage),
      ...(task.showsTimetables
        ? { onTimetable: (timetable: unknown) => port.postMessage({ timetable } satisfies ThreadMessage) }
        : {}),
      shouldStop: () => Atomics.load(flag, 0) === 1,
      ...(task.board ? { board: new BoundBoard(task.board) } : {}),
      ...(log ? { log } : {}),
    };
    if (task.isBeside) return { response: operation.beside!.run(day, request, { ...context, standBack }) };
    const response = await operation.run(day, request, context);
    return { response: isText ? JSON.stringify(response) : response };
  } catch (error) {
    if (!(error instanceof Error)) return { fault: String(error), name: "Error" };
    const { message: fault, name, stack } = error;
    return { fault, name, ...(stack === undefined ? {} : { stack }) };
  } finally {
    // A search that failed would be waited for.
    log?.leave();
  }
}

port.on("message", (task: ThreadTask) => {
  void work(task).then((message) => port.postMessage(message));
});
