import type { DayDocuments, DocumentName, Settings, Timetable } from "../../schemas/index.js";
import type { ChangeLog, Lp } from "../../solver/index.js";
import type { BoundBoard } from "../solving/bound-board.js";

/** JSON Schema 2020-12. `$ref` may point at the document schemas, for example "timetable.schema.json". */
export type JsonSchema = Readonly<Record<string, unknown>>;

/** How a run goes: what the command line shows and the event stream carries. Fields that an operation does not know are left out. */
export interface RunProgress {
  readonly phase: string;
  readonly iterations?: number;
  readonly elapsedMs?: number;
  readonly cost?: number;
  readonly bound?: number;
  readonly gapPercent?: number;
  readonly shortPieces?: number;
  readonly lateOrders?: number;
  /** From 0 to 1, when the operation can tell. */
  readonly done?: number;
}

/** The request cannot be answered for this day: said to whoever asked. */
export class BadRequest extends Error {
  override readonly name = "BadRequest";
}

/** What the surroundings give to a run: the solver itself knows no clock and no threads. */
export interface RunContext {
  /** A clock in milliseconds that only goes forward. */
  readonly now: () => number;
  readonly lp: Lp;
  readonly onProgress: (progress: RunProgress) => void;
  /** The best timetable so far, when somebody wants to see it; call it now and then when it improves. */
  readonly onTimetable?: (timetable: Timetable) => void;
  /** True when the asker wants what there is: stop and keep. */
  readonly shouldStop: () => boolean;
  /** Where the run's bound stands, when something beside the run works on it. */
  readonly board?: BoundBoard;
  /** What the parts of a run that go on side by side share, when they are to search together. */
  readonly log?: ChangeLog;
  /** In what runs beside: what follows is worth less than what others do, and is done in the time that they leave. */
  readonly standBack?: () => void;
}

/** What an operation does beside its run, in a thread that is ended with the run. */
export interface BesideRun<Request> {
  readonly isWanted: (day: DayDocuments, request: Request) => boolean;
  readonly run: (day: DayDocuments, request: Request, context: RunContext) => void;
}

/**
 * One thing that can be asked about a day. The command line, the HTTP routes, the workers of the queue and the OpenAPI document are
 * all made from this; `run` is executed in a solver thread.
 */
export interface Operation<Request = unknown, Response = unknown> {
  readonly name: string;
  /** Half a line. */
  readonly summary: string;
  /** What it does, for the API's documentation. */
  readonly about: string;
  /** Seconds or more: over HTTP it becomes a job. Otherwise the answer comes at once. */
  readonly isLong: boolean;
  /** The request besides the day: an object, its default {}. */
  readonly request: JsonSchema;
  readonly response: JsonSchema;
  /** Documents that must be there besides those that every day has. */
  readonly needs?: readonly DocumentName[];
  /** About how things stand: what stations marked counts among the happenings of a stored day. */
  readonly asItStands?: boolean;
  readonly run: (day: DayDocuments, request: Request, context: RunContext) => Response | Promise<Response>;
  readonly beside?: BesideRun<Request>;
  /**
   * Big runs fan out: the requests to run side by side when so many lanes are free, or one. `gather` joins their answers.
   */
  readonly split?: (day: DayDocuments, request: Request, lanes: number) => readonly Request[];
  readonly gather?: (day: DayDocuments, request: Request, responses: readonly Response[]) => Response;
  /** Its parts are searches of one day that go better together: those that run side by side in one process are given a log. */
  readonly isTogether?: boolean;
  /** The seconds of searching that a request asks for: what a budget per token counts. */
  readonly secondsOf?: (settings: Settings, request: Request) => number;
  /** The timetable in a response, if it makes one, and the day that it is for: verified again before it is stored. */
  readonly timetableOf?: (
    day: DayDocuments,
    response: Response,
  ) => { readonly day: DayDocuments; readonly timetable: Timetable } | undefined;
}

/** Declares an operation, its request and response types erased for the registry. */
export function operation<Request, Response>(declared: Operation<Request, Response>): Operation {
  return declared as unknown as Operation;
}
