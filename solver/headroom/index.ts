import type { Binding, DayDocuments, Headroom, HeldBack, LineChoice, Timetable, Trial } from "../../schemas/index.js";
import { formatInstant } from "../calendar.js";
import type { Lp } from "../lp/choose.js";
import { boundMultiple, type EasedPool, type MultipleBound } from "../network/multiple.js";
import type { NetworkProgram } from "../network/program.js";
import { type DayIndex, indexDay } from "../problem/day-index.js";
import { isChosen } from "../scenario/change.js";
import { changed } from "../scenario/index.js";
import { asPlanned } from "./as-planned.js";
import { Ladder } from "./ladder.js";
import { type TrialResult, trialOf, tryDay } from "./trial.js";
import { hoursWords, poolWords } from "./words.js";

export interface HeadroomRequest {
  /** The lines that are multiplied. Default: all. */
  readonly grow?: LineChoice;
  /** No greater multiple is asked about. Default 3. */
  readonly to?: number;
  readonly seconds?: number;
  readonly seed?: number;
  /** Several lanes ask about different multiples; each does the whole proof. */
  readonly lane?: number;
}

export interface HeadroomContext {
  readonly lp: Lp;
  readonly now: () => number;
  readonly shouldStop?: () => boolean;
  readonly onProgress?: (progress: { phase: string; elapsedMs: number; done: number }) => void;
  readonly onTimetable?: (timetable: Timetable) => void;
}

export const DEFAULT_TO = 3;
export const DEFAULT_SECONDS = 20;
/** Of the time, how much the proof may take at the most. */
const PROOF_SHARE = 0.35;
const MOST_BINDING = 5;
/** A trial that has come near may go on for so many times as long. */
const MOST_TIMES = 2;
/** How near (relative) the limit is brought to what is not disproved. */
const PRECISION = 0.005;

/** The day with the chosen lines multiplied. */
export function multiplied(day: DayDocuments, grow: LineChoice | undefined, times: number): DayDocuments {
  return changed(day, [{ kind: "multiply-orders", times, ...(grow ? { of: grow } : {}) }]);
}

/**
 * How much of a demand fits: first what certainly does not (a proof), then the greatest multiple for which a timetable is found and verified, the
 * interval between narrowed as far as the time goes. Stopping keeps what is known. Asked of the day as it would be planned anew.
 */
export function headroom(asked: DayDocuments, request: HeadroomRequest, context: HeadroomContext): Headroom {
  const day = asPlanned(asked);
  const started = context.now();
  const elapsed = (): number => context.now() - started;
  const limitMs = (request.seconds ?? DEFAULT_SECONDS) * 1000;
  const isStopped = (): boolean => context.shouldStop?.() ?? false;
  const to = request.to ?? DEFAULT_TO;
  const lane = request.lane ?? 0;
  const report = (phase: string): void =>
    context.onProgress?.({ phase, elapsedMs: elapsed(), done: Math.min(1, elapsed() / limitMs) });
  report("what certainly does not fit");
  const index = indexDay(day);
  let firstVerdict = 0;
  const bound = boundMultiple(index, {
    lp: context.lp,
    grows: (want) => isChosen(want.line, request.grow),
    most: to,
    precision: PRECISION,
    onBound: () => {
      if (firstVerdict === 0) firstVerdict = elapsed();
    },
    eased: lane === 0 ? MOST_BINDING : 0,
    shouldStop: isStopped,
    mayNarrow: () => elapsed() < limitMs * PROOF_SHARE,
  });
  const ladder = new Ladder({ most: Math.min(to, bound.multiple), isNarrowed: bound.isNarrowed, lane, first: 1 });
  const trials: Trial[] = [];
  let fitting: { multiple: number; timetable: Timetable } | null = null;
  let asOrdered: TrialResult | null = null;
  let program: NetworkProgram | undefined;
  let seed = (request.seed ?? day.settings.search?.seed ?? 1) + lane * 1000;
  while (!isStopped() && elapsed() < limitMs) {
    const next = ladder.next();
    if (!next) break;
    report(`trying x ${next.multiple.toFixed(2)}`);
    const grown = multiplied(day, request.grow, next.multiple);
    const left = (limitMs - elapsed()) / 1000;
    const result = tryDay(grown, {
      lp: context.lp,
      now: context.now,
      seed: seed++,
      seconds: Math.min(left, (limitMs / 1000) * next.share),
      mostSeconds: Math.min(left, (limitMs / 1000) * next.share * MOST_TIMES),
      shouldStop: isStopped,
      // How the day as ordered does is told, so it is seen through.
      mayGiveUp: next.multiple !== 1,
      settlesForLess: next.multiple === 1 && bound.multiple < 1,
      like: program,
      onFlows: (own) => {
        program = own;
      },
    });
    const trial = { ...trialOf(grown, result.timetable, next.multiple) };
    trials.push(trial);
    ladder.tell(next.multiple, trial.fits, trial.piecesOnTime / Math.max(1, trial.pieces));
    if (trial.fits && (!fitting || next.multiple > fitting.multiple)) {
      fitting = { multiple: next.multiple, timetable: result.timetable };
      context.onTimetable?.(result.timetable);
    }
    if (next.multiple === 1 && (!asOrdered || trial.piecesOnTime > asOrdered.trial.piecesOnTime))
      asOrdered = { trial, timetable: result.timetable };
  }
  return {
    format: "headroom/1",
    name: day.settings.name,
    grows: request.grow ?? {},
    verdict: verdictOf(fitting?.multiple, bound.multiple, bound.shortAtOne),
    ...(fitting ? { fitsAt: fitting.multiple, timetable: fitting.timetable } : {}),
    certainlyNotAbove: bound.multiple,
    isBounded: bound.multiple < to,
    atLeastShort: bound.shortAtOne,
    trials: sorted(trials),
    binding: bindingOf(day, index, bound),
    heldBack: asOrdered ? heldBackOf(asOrdered.timetable) : [],
    seconds: { firstVerdict: firstVerdict / 1000, all: elapsed() / 1000 },
  };
}

function verdictOf(fits: number | undefined, certainlyNotAbove: number, atLeastShort: number): Headroom["verdict"] {
  if (fits !== undefined && fits >= 1) return "fits";
  return certainlyNotAbove < 1 || atLeastShort > 0 ? "does-not-fit" : "not-decided";
}

function sorted(trials: readonly Trial[]): Trial[] {
  return [...trials].sort((a, b) => a.multiple - b.multiple || a.seed - b.seed);
}

function bindingOf(day: DayDocuments, index: DayIndex, bound: MultipleBound): Binding[] {
  return bound.eased.map((eased: EasedPool): Binding => {
    const { pool, from, to } = eased;
    const site = index.sites.get(pool.site)!;
    const there = Math.max(...pool.line.slice(from, Math.max(from + 1, to)));
    const hours = hoursWords(index, from, to, site.timeZone);
    return {
      kind: pool.kind,
      site: site.id,
      from: formatInstant(index.origin + from, site.timeZone),
      to: formatInstant(index.origin + to, site.timeZone),
      there: Math.round(there * 10) / 10,
      ...(eased.easedTo > eased.before + 5e-4
        ? { before: rounded(eased.before), easedTo: rounded(eased.easedTo) }
        : {}),
      text: `${poolWords(day, site, pool)} at ${site.name}, ${hours}`,
    };
  });
}

function rounded(multiple: number): number {
  return Math.round(multiple * 1e4) / 1e4;
}

/** What held lines back, by kind and site, most pieces first. */
export function heldBackOf(timetable: Timetable): HeldBack[] {
  const found = new Map<string, HeldBack>();
  for (const order of timetable.orders) {
    const { why } = order;
    if (!why || why.code === "stopped") continue;
    const { code, site } = why;
    const key = `${code} ${site ?? ""}`;
    const known = found.get(key) ?? { kind: code, ...(site === undefined ? {} : { site }), lines: 0, pieces: 0 };
    const pieces = order.shortPieces > 0 ? order.shortPieces : order.pieces;
    found.set(key, { ...known, lines: known.lines + 1, pieces: known.pieces + pieces });
  }
  return [...found.values()].sort((a, b) => b.pieces - a.pieces);
}

/** What several lanes found, as one answer. */
export function joinHeadroom(answers: readonly Headroom[]): Headroom {
  const [first] = answers;
  const best = answers.reduce((a, b) => ((b.fitsAt ?? -1) > (a.fitsAt ?? -1) ? b : a));
  const certainlyNotAbove = Math.min(...answers.map((answer) => answer.certainlyNotAbove));
  const atOne = answers.flatMap(({ trials }) =>
    trials.filter(({ multiple }) => multiple === 1).map(({ piecesOnTime }) => piecesOnTime),
  );
  const held = answers.find(({ trials }) =>
    trials.some((trial) => trial.multiple === 1 && trial.piecesOnTime === Math.max(...atOne)),
  );
  const atLeastShort = Math.max(...answers.map((answer) => answer.atLeastShort));
  const { fitsAt: _fitsAt, timetable: _timetable, ...rest } = first!;
  return {
    ...rest,
    verdict: verdictOf(best.fitsAt, certainlyNotAbove, atLeastShort),
    ...(best.fitsAt === undefined ? {} : { fitsAt: best.fitsAt }),
    ...(best.timetable === undefined ? {} : { timetable: best.timetable }),
    certainlyNotAbove,
    isBounded: answers.some(({ isBounded }) => isBounded),
    atLeastShort,
    trials: sorted(answers.flatMap(({ trials }) => trials)),
    heldBack: held?.heldBack ?? [],
    seconds: {
      firstVerdict: Math.min(...answers.map(({ seconds }) => seconds.firstVerdict)),
      all: Math.max(...answers.map(({ seconds }) => seconds.all)),
    },
  };
}
