import type { DayDocuments, Timetable, Trial } from "../../schemas/index.js";
import { emitTimetable } from "../emit/index.js";
import { explain } from "../explain.js";
import type { Lp } from "../lp/choose.js";
import type { NetworkProgram } from "../network/program.js";
import { type ForFit, pose, poseForFit } from "../pose.js";
import { indexDay } from "../problem/day-index.js";
import type { Problem } from "../problem/index.js";
import { linesAsTold } from "../problem/told.js";
import { createRng } from "../rng.js";
import { construct, mendOrder } from "../search/construct.js";
import { Draft } from "../search/draft.js";
import { improve } from "../search/improve.js";
import { makeAll } from "../search/make-all.js";
import type { PlanCopy } from "../search/plan.js";
import { verify } from "../verify/index.js";
import { fitModel } from "./fit-model.js";

export interface TrialOptions {
  readonly lp: Lp;
  readonly now: () => number;
  readonly seed: number;
  readonly seconds?: number;
  /** A trial that has come near may go on for so long. Default: it may not. */
  readonly mostSeconds?: number;
  /** Tries instead of seconds. */
  readonly iterations?: number;
  readonly shouldStop?: () => boolean;
  /** May it end before its time when it has come nowhere near? */
  readonly mayGiveUp?: boolean;
  /** When it has come nowhere near, what is left of the time looks for the most that can be had. */
  readonly settlesForLess?: boolean;
  /** The network program of the same lines in other numbers, and who is told of this trial's. */
  readonly like?: NetworkProgram | undefined;
  readonly onFlows?: (program: NetworkProgram) => void;
}

export interface TrialResult {
  readonly trial: Trial;
  readonly timetable: Timetable;
}

/** A minute late counts so many times as much while it is asked whether everything can be on time. */
const LATE_TIMES = 10;

/**
 * From seed to seed the day is posed differently: how much of what there is the flows are planned on (loads are whole), and how full the bowls are
 * at most (few large batches leave time at the mixer, small ones are shaped in time).
 */
const WAYS_TO_POSE: readonly ForFit[] = [
  { share: 0.9, shelfShare: 0.92, bowlShare: 0.4 },
  { share: 0.9, shelfShare: 0.94, bowlShare: 0.6 },
  { share: 0.9, shelfShare: 0.9, bowlShare: 0.6 },
  { share: 0.9, shelfShare: 0.94, bowlShare: 0.4 },
  { share: 0.8, shelfShare: 0.92, bowlShare: 0.6 },
  { share: 0.85, shelfShare: 0.93, bowlShare: 0.5 },
];

/** A search lasts at least so many times what its first plan took. */
const FIRST_PLANS = 4;
/** But no longer than so many times what was asked for, as long as that leaves it twice its first plan. */
const MOST_TIMES_ASKED = 3;
const LEAST_FIRST_PLANS = 2;

/** The day with lateness counted much more: what is asked is whether everything can be on time, not what it costs. */
function mindingLateness(day: DayDocuments): DayDocuments {
  const late = (day.settings.weights?.latePerPieceHour ?? 1) * LATE_TIMES;
  const weights = { ...day.settings.weights, latePerPieceHour: Math.max(late, LATE_TIMES) };
  return { ...day, settings: { ...day.settings, weights } };
}

/** A trial that settles for less tries so long to make all, where more than such a share of its loads is unmade. */
const SETTLES_AFTER = 0.4;
const FAR = 0.04;
/** After half of its time a trial that leaves so great a share of its loads unmade is given up: it would need many times as long. */
const HOPELESS = 0.07;
/** One that lacks no more than this may go on for so many times as long: to begin anew with another would cost more. */
const NEARLY = 0.025;
const GOES_ON = 3;
/** Unless it has hardly begun. */
const TRIES_A_LOAD = 15;

/**
 * Looks for a timetable of a day with every line in full and on time, and stops as soon as it has one. The timetable is emitted with the day's
 * own weights and verified; a breach throws, for then the program is at fault.
 */
export function tryDay(day: DayDocuments, options: TrialOptions): TrialResult {
  const started = options.now();
  const posed = poseForFit(mindingLateness(day), options.lp, {
    ...WAYS_TO_POSE[options.seed % WAYS_TO_POSE.length]!,
    like: options.like,
    onFlows: options.onFlows,
  });
  const problem = {
    ...posed,
    model: fitModel(
      posed.model,
      posed.loads.map(({ pieces }) => pieces),
    ),
  };
  const draft = new Draft(problem.model, createRng(options.seed));
  construct(draft);
  // A slow machine or a large day gets longer: a search as short as its first plan says nothing.
  const askedMs = (options.seconds ?? 2) * 1000;
  const firstMs = options.now() - started;
  const longestMs = Math.max(LEAST_FIRST_PLANS * firstMs, 1000 * (options.mostSeconds ?? Number.POSITIVE_INFINITY));
  const limitMs = Math.min(
    longestMs,
    Math.max(
      askedMs,
      Math.min(FIRST_PLANS * firstMs, Math.max(MOST_TIMES_ASKED * askedMs, LEAST_FIRST_PLANS * firstMs)),
    ),
  );
  const { length } = problem.model.loads;
  const mostMs = options.mostSeconds === undefined ? limitMs : Math.min(longestMs, GOES_ON * limitMs);
  const used = (iterations: number, unmade: number): number => {
    if (options.iterations !== undefined) return options.iterations === 0 ? 1 : iterations / options.iterations;
    return limitMs === 0 ? 1 : (options.now() - started) / (unmade <= NEARLY * length ? mostMs : limitMs);
  };
  const { best, iterations } = makeAll(draft, {
    progress: (tries, unmade) => {
      if (options.shouldStop?.()) return 1;
      const share = used(tries, unmade);
      if (tries <= TRIES_A_LOAD * length) return share;
      const isHopeless = share > 0.5 && unmade > HOPELESS * length;
      const isFar = share > SETTLES_AFTER && unmade > FAR * length;
      return (options.mayGiveUp && isHopeless) || (options.settlesForLess && isFar) ? 1 : share;
    },
  });
  // What would be late is not made, so a plan that makes all has all on time.
  const isDone = problem.unmakeable.length === 0 && best.mode.every((mode) => mode >= 0);
  const reasons = isDone ? new Map() : explain(problem, best);
  const timetable = emitByOwnWeights(day, posed, best, { seed: options.seed, iterations, cancelled: false, reasons });
  const result = { timetable, trial: trialOf(day, timetable, Number.NaN) };
  if (isDone || !options.settlesForLess) return result;
  const leftMs = limitMs - (options.now() - started);
  if (options.iterations === undefined && leftMs < LEAST_FIRST_PLANS * firstMs) return result;
  const less = mostOf(day, options, leftMs);
  return less.trial.piecesOnTime > result.trial.piecesOnTime ? less : result;
}

/** The most that is found of a day of which not everything can be on time: posed and searched like any day, lateness counted much more. */
function mostOf(
  day: DayDocuments,
  { lp, now, seed, iterations: tries, shouldStop }: TrialOptions,
  ms: number,
): TrialResult {
  const started = now();
  const posed = pose(mindingLateness(day), lp);
  const draft = new Draft(posed.model, createRng(seed));
  construct(draft);
  const progress = (done: number): number => {
    if (shouldStop?.()) return 1;
    if (tries !== undefined) return tries === 0 ? 1 : done / tries;
    return ms <= 0 ? 1 : (now() - started) / ms;
  };
  mendOrder(draft, () => progress(0));
  const { best, iterations } = improve(draft, { progress });
  const reasons = explain(posed, best);
  const timetable = emitByOwnWeights(day, posed, best, { seed, iterations, cancelled: false, reasons });
  return { timetable, trial: trialOf(day, timetable, Number.NaN) };
}

/** A plan of a day that was posed with other weights, as a timetable of the day; a breach throws. */
function emitByOwnWeights(
  day: DayDocuments,
  posed: Problem,
  plan: PlanCopy,
  how: Parameters<typeof emitTimetable>[2],
): Timetable {
  const index = { ...posed.index, day, weights: indexDay(day).weights };
  const timetable = emitTimetable({ ...posed, index, prepared: { ...posed.prepared, index } }, plan, how);
  const breaches = verify(day, timetable);
  if (breaches.length > 0)
    throw new Error(`a trial's timetable breaks ${breaches[0]!.rule} ${breaches[0]!.code}: ${breaches[0]!.message}`);
  return timetable;
}

/** What a timetable reaches of its day. */
export function trialOf(day: DayDocuments, timetable: Timetable, multiple: number): Trial {
  const lines = linesAsTold(day);
  const pieces = lines.reduce((sum, line) => sum + line.pieces, 0);
  const onTime = timetable.orders.filter(({ state }) => state === "on-time").length;
  return {
    multiple,
    fits: onTime === lines.length,
    lines: lines.length,
    linesOnTime: onTime,
    pieces,
    piecesOnTime: pieces - wanting(timetable),
    seed: timetable.seed,
    iterations: timetable.iterations,
  };
}

/** Pieces short or late: of a late line only what its late loads carry. */
function wanting(timetable: Timetable): number {
  const due = new Map(timetable.orders.map(({ line, due: at }) => [line, Date.parse(at)]));
  let pieces = timetable.orders.reduce((sum, { shortPieces }) => sum + shortPieces, 0);
  if (timetable.orders.every(({ lateMinutes }) => lateMinutes === 0)) return pieces;
  const ends = new Map<string, number>();
  for (const { load, end } of timetable.tasks)
    if (load !== undefined) ends.set(load, Math.max(ends.get(load) ?? 0, Date.parse(end)));
  for (const load of timetable.loads)
    for (const share of load.orders) if (ends.get(load.id)! > due.get(share.line)!) pieces += share.pieces;
  return pieces;
}
