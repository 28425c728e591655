import type { DayDocuments, LineChoice, Remedy, RemedyReport, Timetable } from "../../schemas/index.js";
import { asPlanned } from "../headroom/as-planned.js";
import { multiplied } from "../headroom/index.js";
import { type TrialResult, trialOf, tryDay } from "../headroom/trial.js";
import type { Lp } from "../lp/choose.js";
import { Disprover, type KnownCut, wholePieces } from "../network/multiple.js";
import type { Pool } from "../network/pools.js";
import { indexDay } from "../problem/day-index.js";
import { applyScenario, changeWords } from "../scenario/index.js";
import type { Candidate, MakerContext, Want } from "./candidate.js";
import { heldBackWants } from "./held-back.js";
import { candidatesFor } from "./library/index.js";
import { pricesOf } from "./prices.js";

export interface RemedyRequest {
  readonly grow?: LineChoice;
  /** What is to fit. Default 1: the day as ordered. */
  readonly multiple?: number;
  readonly seconds?: number;
  readonly seed?: number;
  /** Lanes draw up different candidates of the same list. */
  readonly lane?: number;
  readonly lanes?: number;
}

export interface RemedyContext {
  readonly lp: Lp;
  readonly now: () => number;
  readonly shouldStop?: () => boolean;
  readonly onProgress?: (progress: { phase: string; elapsedMs: number; done: number }) => void;
}

export const DEFAULT_SECONDS = 60;
/** Singles and pairs that are drawn up, at most. */
const MOST_SINGLES = 10;
const MOST_PAIRS = 8;
/** Of the time, until when single changes are drawn up. */
const SINGLES_SHARE = 0.45;
const PAIRS_SHARE = 0.8;
/** How much longer what came nearest is searched again. */
const LONGER = 3;
/** Of what is wanting next once the first is eased, so many rounds are looked at. */
const WANT_ROUNDS = 4;
const MOST_WANTS = 8;
const EASE = 1.5;

interface Assessed {
  readonly candidate: Candidate;
  readonly day: DayDocuments;
  /** No timetable of the changed day has fewer pieces short or late. */
  readonly atLeastShort: number;
}

/** What the day is certainly short of, the rows that say so, and what is wanting: first now, then once there were more of that, and so on. */
function wantsOf(day: DayDocuments, lp: Lp): { wants: Want[]; atLeastShort: number; known: KnownCut[] } {
  const wants: Want[] = [];
  const eased = new Set<string>();
  const share = (pool: Pool): number => (eased.has(`${pool.kind} ${pool.site}`) ? EASE : 1);
  const disprover = new Disprover(indexDay(day), { lp, most: 10, share });
  disprover.greatest();
  const atLeastShort = wholePieces(disprover.shortage(1));
  const known = disprover.known;
  for (let round = 0; round < WANT_ROUNDS && wants.length < MOST_WANTS; round++) {
    if (round > 0 || atLeastShort === 0) disprover.greatest();
    const before = wants.length;
    for (const { pool: number, from, to } of disprover.tight) {
      const pool = disprover.program.pools[number]!;
      const key = `${pool.kind} ${pool.site}`;
      if (eased.has(key)) continue;
      eased.add(key);
      wants.push({ kind: pool.kind, site: pool.site, of: pool.of, from, to });
    }
    if (wants.length === before) break;
  }
  return { wants: wants.slice(0, MOST_WANTS), atLeastShort, known };
}

/**
 * What would make a demand fit: changes that a planner can make, chosen by what the network program shows to be wanting, each drawn up anew through
 * the whole pipeline and verified, then pairs of the most promising. What a necessary condition shows to be of no use is not drawn up. No
 * number here is read off a price. Asked of the day as it would be planned anew.
 */
export function remedies(asked: DayDocuments, request: RemedyRequest, context: RemedyContext): RemedyReport {
  const day = asPlanned(asked);
  const { lp, now } = context;
  const started = now();
  const limitMs = (request.seconds ?? DEFAULT_SECONDS) * 1000;
  const elapsed = (): number => now() - started;
  const isOver = (): boolean => (context.shouldStop?.() ?? false) || elapsed() > limitMs;
  const lane = request.lane ?? 0;
  const lanes = request.lanes ?? 1;
  const report = (phase: string): void =>
    context.onProgress?.({ phase, elapsedMs: elapsed(), done: Math.min(1, elapsed() / limitMs) });
  const multiple = request.multiple ?? 1;
  const target = multiplied(day, request.grow, multiple);
  const index = indexDay(target);
  report("what is wanting");
  const { wants, atLeastShort: base, known } = wantsOf(target, lp);
  const maker = { day: target, prices: pricesOf(day), origin: index.origin };
  const candidates = candidatesFor(wants, maker);
  // A few rounds do: what they prove holds, and the search decides about the rest.
  const shortageOf = (changedDay: DayDocuments): number =>
    wholePieces(new Disprover(indexDay(changedDay), { lp, most: 1, known, rounds: 2 }).shortage(1));
  const assess = (candidate: Candidate): Assessed | null => {
    const applied = applyScenario(target, {
      format: "scenario/1",
      name: "remedy",
      changes: [...candidate.changes] as never,
    });
    return "issues" in applied ? null : { candidate, day: applied.day, atLeastShort: shortageOf(applied.day) };
  };
  const share = limitMs / 1000 / (2 + Math.ceil((MOST_SINGLES + MOST_PAIRS) / (1.5 * lanes)));
  let seed = (request.seed ?? day.settings.search?.seed ?? 1) + lane * 1000;
  const draw = (changedDay: DayDocuments, times = 1): TrialResult => {
    const { timetable } = tryDay(changedDay, {
      lp,
      now,
      seed: seed++,
      seconds: Math.min(share * times, Math.max(0.5, (limitMs - elapsed()) / 1000)),
      shouldStop: () => context.shouldStop?.() ?? false,
      settlesForLess: true,
    });
    return { timetable, trial: trialOf(changedDay, timetable, multiple) };
  };
  report("the day as it is");
  const asItIs = draw(target).trial;
  const tried: Remedy[] = [];
  /** What gained most in this lane. */
  let best: Gainer | null = null;
  const tryOne = ({ candidate, day: changedDay, atLeastShort }: Assessed, times = 1): void => {
    const words = candidate.changes.map((change) => changeWords(target, change)).join(", and ");
    report(`trying ${words}`);
    const { trial, timetable } = draw(changedDay, times);
    const gained = trial.piecesOnTime - asItIs.piecesOnTime;
    if (!best || gained > best.gained) best = { candidate, gained, timetable };
    tried.push({
      name: words.slice(0, 120),
      changes: [...candidate.changes] as Remedy["changes"],
      text: words.slice(0, 600),
      cost: candidate.cost,
      atLeastShort,
      trial,
      fits: trial.fits,
      morePiecesOnTime: gained,
    });
  };
  for (const single of mine(candidates.slice(0, MOST_SINGLES), lane, lanes)) {
    if (isOver() || elapsed() > limitMs * SINGLES_SHARE) break;
    const assessed = assess(single);
    // What certainly leaves as much short is of no use alone.
    if (assessed && (base === 0 || assessed.atLeastShort < base)) tryOne(assessed);
  }
  // With the best of these there is still something that holds lines back: what eases that goes with it. Then pairs of what is wanting at first.
  for (const pair of [...pairsAfter(best, target, maker), ...mine(pairsOf(candidates), lane, lanes)].slice(
    0,
    MOST_PAIRS,
  )) {
    if (isOver() || elapsed() > limitMs * PAIRS_SHARE) break;
    const assessed = assess(pair);
    if (assessed?.atLeastShort === 0) tryOne(assessed);
  }
  // What came nearest is searched again, for longer: a search that found nothing proves nothing.
  while (!isOver() && !tried.some(({ fits }) => fits)) {
    const again = ranked(tried).find(({ atLeastShort }) => atLeastShort === 0);
    const assessed = again && assess({ family: "again", changes: again.changes, cost: again.cost });
    if (!assessed) break;
    tryOne(assessed, LONGER);
    if (tried.at(-1)!.trial.piecesOnTime >= again.trial.piecesOnTime) tried.splice(tried.indexOf(again), 1);
    else tried.pop();
  }
  return {
    format: "remedies/1",
    name: day.settings.name,
    multiple,
    asItIs: { atLeastShort: base, trial: asItIs },
    tried: ranked(tried),
    proposed: candidates.length,
    seconds: elapsed() / 1000,
  };
}

/** Every so-manieth of a list: each lane has its own. */
function mine<T>(list: readonly T[], lane: number, lanes: number): T[] {
  return list.filter((_, i) => i % lanes === lane);
}

interface Gainer {
  readonly candidate: Candidate;
  readonly gained: number;
  readonly timetable: Timetable;
}

/** The best change with what eases what still holds lines back in its timetable; more of what it eased itself is not that. */
function pairsAfter(best: Gainer | null, day: DayDocuments, maker: MakerContext): Candidate[] {
  if (!best) return [];
  const { family } = best.candidate;
  const wants = heldBackWants(day, best.timetable).filter(
    (want) => !candidatesFor([want], maker).some((candidate) => candidate.family === family),
  );
  return pairsWith(best.candidate, candidatesFor(wants, maker));
}

/** A change with each other one that is of another family, the greatest size of it first. */
function pairsWith(first: Candidate, others: readonly Candidate[]): Candidate[] {
  return greatestOfFamilies(others)
    .filter(({ family }) => family !== first.family)
    .map((other) => ({
      family: `${first.family} + ${other.family}`,
      changes: [...first.changes, ...other.changes],
      cost: first.cost + other.cost,
    }));
}

function greatestOfFamilies(candidates: readonly Candidate[]): Candidate[] {
  const greatest = new Map<string, Candidate>();
  for (const candidate of candidates) {
    const known = greatest.get(candidate.family);
    if (!known || candidate.cost > known.cost) greatest.set(candidate.family, candidate);
  }
  return [...greatest.values()];
}

/** Pairs of different things, those of the most promising first; of the sizes of one thing the greatest. */
function pairsOf(candidates: readonly Candidate[]): Candidate[] {
  const best = greatestOfFamilies(candidates).slice(0, 6);
  return best.flatMap((a, i) =>
    best.slice(i + 1).map((b) => ({
      family: `${a.family} + ${b.family}`,
      changes: [...a.changes, ...b.changes],
      cost: a.cost + b.cost,
    })),
  );
}

/** Those that fit first, the cheapest of them first; then by pieces on time gained, then by cost. */
export function ranked(tried: readonly Remedy[]): Remedy[] {
  return [...tried].sort(
    (a, b) =>
      Number(b.fits) - Number(a.fits) ||
      (a.fits ? a.cost - b.cost : b.morePiecesOnTime - a.morePiecesOnTime) ||
      a.cost - b.cost,
  );
}

/** What several lanes found, as one answer. */
export function joinRemedies(answers: readonly RemedyReport[]): RemedyReport {
  const best = answers.reduce((a, b) =>
    (b.asItIs.trial?.piecesOnTime ?? 0) > (a.asItIs.trial?.piecesOnTime ?? 0) ? b : a,
  );
  const onTime = best.asItIs.trial?.piecesOnTime ?? 0;
  const tried = answers.flatMap((answer) =>
    answer.tried.map((remedy) => ({ ...remedy, morePiecesOnTime: remedy.trial.piecesOnTime - onTime })),
  );
  return { ...best, tried: ranked(tried), seconds: Math.max(...answers.map(({ seconds }) => seconds)) };
}
