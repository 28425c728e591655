import type { DayDocuments, Reason, Task } from "../../schemas/index.js";
import { formatInstant } from "../calendar.js";
import type { Lp } from "../lp/choose.js";
import type { Problem } from "../problem/index.js";
import { createRng } from "../rng.js";
import { Draft } from "../search/draft.js";
import { settleMixes } from "../search/home.js";
import type { MixOption, Operation } from "../search/model.js";
import type { Rule } from "../verify/index.js";
import { type RepairOptions, type RepairResult, repair } from "./index.js";
import { type PosedRepair, poseRepair } from "./pose.js";
import { readWishes, type Wish, workBefore } from "./wishes.js";

/** A wish that nothing can make room for. */
export interface Refusal {
  readonly task: string;
  /** The rule that it breaks, whatever is moved out of its way. */
  readonly rule: Rule;
  readonly message: string;
  /** The nearest times that work, earlier first; with the unit that was wished for, if there was one. */
  readonly nearest: readonly string[];
}

export interface HoldOptions extends RepairOptions {
  /** The tasks that are wished for now; the day's other holds were met before and are not judged again. Default: all are new. */
  readonly wished?: ReadonlySet<string>;
}

export type HoldResult = { readonly refusals: readonly Refusal[] } | RepairResult;

/** More of everything than any day needs. */
const PLENTY = 1_000_000;
/** Nearest times are looked for so many minutes to either side. */
const REACH = 720;

const RULES: readonly (readonly [Reason["code"], Rule, string])[] = [
  ["deck-positions", "R10", "no deck has room at its temperature then, preheated and with its changes"],
  ["kettle", "R8", "the kettle is not free and at the boil then"],
  ["crew", "R7", "nobody with the skill is on shift and free then"],
  ["bench", "R7", "no bench place is free then"],
  ["fridge-positions", "R4", "no shelf positions are free for it"],
  ["fridge-heat", "R4", "the fridge cannot remove its heat then"],
  ["proofer-positions", "R9", "no proofer positions are free then"],
  ["rack-positions", "R9", "no rack positions are free then"],
  ["pans", "R9", "no pans are free then"],
  ["tubs", "R9", "no tubs are free then"],
  ["mixer", "R3", "no mixer is free then"],
  ["van", "R12", "no van has room for it"],
];

/** What of a problem a wish is about. */
interface Target {
  readonly load: number;
  readonly batch: number;
  readonly wish: Wish;
}

/** Answers whether a task can be at a minute when nothing but what has begun is in its way: everything ahead can be moved. */
class Prober {
  private readonly draft: Draft;
  private readonly problem: Problem;

  constructor({ problem }: PosedRepair) {
    this.problem = problem;
    this.draft = new Draft(problem.model, createRng(1));
    const { model, state } = this.draft;
    // What has begun is taken off the rows already; mixes that have not are out of the way.
    settleMixes(this.draft);
    for (let batch = 0; batch < model.batches.length; batch++)
      if (!model.batches[batch]!.pinned && state.mixOption[batch]! >= 0) state.liftMix(batch);
    this.draft.accept();
  }

  private get model() {
    return this.draft.model;
  }

  target(wish: Wish, owner: string): Target | null {
    const load = this.problem.loads.findIndex(({ id }) => id === owner);
    if (load >= 0) return { load, batch: this.model.loads[load]!.batch, wish };
    const batch = this.problem.batches.findIndex(({ id }) => id === owner);
    return batch >= 0 ? { load: this.model.batches[batch]!.loads[0]!, batch, wish } : null;
  }

  /** Could it be there? `plenty`: with more of one kind of thing than any day needs. */
  fits(target: Target, minute: number, plenty?: Reason["code"]): boolean {
    if (minute < (this.problem.index.at ?? 0)) return false;
    const undo = this.pin(target, minute);
    if (!undo) return false;
    this.shift(plenty, PLENTY);
    const { draft } = this;
    draft.removeLoad(target.load);
    const { state } = draft;
    const below = 1 << 29;
    const isPut =
      state.mixOption[target.batch]! >= 0 ? draft.insert(target.load, below) : draft.insertWithMix(target.load, below);
    draft.reject();
    this.shift(plenty, -PLENTY);
    undo();
    return isPut;
  }

  private shift(plenty: Reason["code"] | undefined, amount: number): void {
    if (plenty === undefined) return;
    const { free, horizon } = this.draft.state;
    this.problem.prepared.book.meanings.forEach(({ kind }, row) => {
      if (kind === plenty) for (let i = row * horizon; i < (row + 1) * horizon; i++) free[i] = free[i]! + amount;
    });
  }

  /** Fixes the task in all modes or mix options; gives back how to undo it, or null when it has no such task. */
  private pin({ load, batch, wish }: Target, minute: number): (() => void) | null {
    const undo: (() => void)[] = [];
    const { meanings } = this.problem.prepared.book;
    const fix = (window: { from: number; to: number }, start = minute): void => {
      const { from, to } = window;
      undo.push(() => {
        window.from = from;
        window.to = to;
      });
      window.from = Math.max(from, start);
      window.to = Math.min(to, start);
    };
    if (wish.does === "mix") {
      this.model.batches[batch]!.options.forEach((option, o) => {
        const { site, mixer } = this.problem.mixes[batch]![o]!;
        const isAllowed = wish.unit === undefined || wish.unit === `${site}/${mixer}`;
        fix(option as { -readonly [K in keyof MixOption]: MixOption[K] });
        if (!isAllowed) (option as { -readonly [K in keyof MixOption]: MixOption[K] }).to = -1;
      });
    } else {
      const { modes } = this.model.loads[load]!;
      this.problem.modes[load]!.forEach((meaning, m) => {
        const trace = meaning.steps.find(({ step }) => step.does === wish.does);
        if (!trace) return;
        const k = trace.operation >= 0 ? trace.operation : trace.hold - 1;
        const operation = modes[m]!.operations[k] as { -readonly [K in keyof Operation]: Operation[K] } | undefined;
        if (!operation) return;
        const { alternatives } = operation;
        undo.push(() => {
          operation.alternatives = alternatives;
        });
        // A standing step begins when the work before it ends.
        const before = trace.operation >= 0 ? 0 : workBefore(alternatives, wish);
        const isWished = ({ row, minutes }: (typeof alternatives)[number]): boolean =>
          trace.operation < 0
            ? minutes === before
            : wish.unit === undefined || (row >= 0 && meanings[row]!.unit === wish.unit);
        // Numbers of alternatives stay: the others need more than there can be.
        operation.alternatives = alternatives.map((one) => (isWished(one) ? one : { ...one, amount: 1 << 29 }));
        fix(operation, minute - before);
      });
    }
    return undo.length === 0 ? null : () => undo.reverse().forEach((back) => back());
  }

  nearest(target: Target, minute: number): number[] {
    const { horizon } = this.draft.state;
    const near: number[] = [];
    for (const step of [-1, 1]) {
      for (let t = minute + step; Math.abs(t - minute) <= REACH && t >= 0 && t < horizon; t += step) {
        if (!this.fits(target, t)) continue;
        near.push(t);
        break;
      }
    }
    return near;
  }
}

function refusal(prober: Prober, target: Target, problem: Problem): Refusal {
  const { wish } = target;
  const { index } = problem;
  const task = index.day.inForce!.tasks.find(({ id }) => id === wish.task)!;
  const zone = index.sites.get(task.site)!.timeZone;
  const near = prober.nearest(target, wish.start).map((minute) => formatInstant(index.origin + minute, zone));
  const base = { task: wish.task, nearest: near };
  const at = index.at ?? 0;
  if (wish.start < at)
    return {
      ...base,
      rule: "R14",
      message: "that time is past: nothing new can begin before the instant of the report",
    };
  const out = index.outages.find(
    ({ unit, from, to }) =>
      wish.unit !== undefined &&
      (wish.unit === unit || wish.unit.startsWith(`${unit}/`)) &&
      from <= wish.start &&
      wish.start < to,
  );
  if (out) return { ...base, rule: "R11", message: `${out.unit} is out of service then` };
  for (const [kind, rule, message] of RULES)
    if (prober.fits(target, wish.start, kind)) return { ...base, rule, message };
  return {
    ...base,
    rule: "R6",
    message: "the least and greatest times of its route, counted from what has begun, do not lead there",
  };
}

/**
 * Moves or pins tasks by hand: the day's happenings of kind `hold` say which, and the rest is repaired around them. A wish that breaks a rule whatever is
 * moved out of its way is refused, with the rule and the nearest times that work.
 */
export function hold(day: DayDocuments, options: HoldOptions): HoldResult {
  const refusals = refusedHolds(day, options.lp, options.wished);
  if (refusals.length > 0) return { refusals };
  const result = repair(day, { ...options, insistsOn: options.wished ?? heldTasks(day) });
  const lost = result.breaches.filter(({ code }) => code === "not-held");
  // A mix that is held while nothing of its batch can be made is lost with what it was for.
  const forNothing = result.breaches.filter(({ code }) => code === "mixed-for-nothing");
  if (lost.length === 0 || lost.length + forNothing.length < result.breaches.length) return result;
  // Each wish can be met when everything gives way, but no timetable was found that meets them all.
  return {
    refusals: lost.flatMap(({ rule, tasks }) =>
      tasks.map((task) => ({
        task,
        rule,
        message: "in the time given no timetable was found that has it there without leaving its load out",
        nearest: [],
      })),
    ),
  };
}

function heldTasks({ happenings: { happenings } }: DayDocuments): Set<string> {
  return new Set(happenings.flatMap((one) => (one.kind === "hold" ? [one.task] : [])));
}

const CLEANED = "it is cleaned when it has to be; hold what is made before or after it";

/** Why there is nothing to hold of a task, whatever the time: it follows from others. Null: there is. */
function followsFrom({ unit }: Wish, task: Task | undefined): string | null {
  if (!task) return null;
  if (task.does === "van") return "it rides when the van goes; change the run, or report that it is late";
  if (/-(retard-2|carried)$/.test(task.id)) return "it goes on from the part before it; hold the work that follows";
  if (unit !== undefined && task.unit === undefined)
    return "it stands, in places that are found for it: give a time only, or hold the work before it";
  return null;
}

/** The wishes that cannot be, one by one; of those for `wished` tasks, if given. */
export function refusedHolds(day: DayDocuments, lp: Lp, wished?: ReadonlySet<string>): Refusal[] {
  const others = day.happenings.happenings.filter(({ kind }) => kind !== "hold");
  const posed = poseRepair({ ...day, happenings: { ...day.happenings, happenings: others } }, lp);
  const { problem, standing } = posed;
  const begun = new Set<string>();
  for (const batch of standing.batches.values()) {
    begun.add(batch.mix.task.id);
    for (const load of batch.loads) for (const { task } of load.tasks) begun.add(task.id);
  }
  const prober = new Prober(posed);
  const before = new Map(day.inForce?.tasks.map((task) => [task.id, task]));
  const refusals: Refusal[] = [];
  for (const id of heldTasks(day))
    if (before.get(id)?.does === "clean" && (!wished || wished.has(id)))
      refusals.push({ task: id, rule: "R14", message: CLEANED, nearest: [] });
  const { index } = problem;
  for (const [owner, wishes] of readWishes({ ...index, day })) {
    for (const wish of wishes) {
      if (wished && !wished.has(wish.task)) continue;
      if (begun.has(wish.task)) {
        refusals.push({ task: wish.task, rule: "R14", message: "it has begun: what has begun stays", nearest: [] });
        continue;
      }
      const follows = followsFrom(wish, before.get(wish.task));
      if (follows !== null) {
        refusals.push({ task: wish.task, rule: "R14", message: follows, nearest: [] });
        continue;
      }
      const target = prober.target(wish, owner);
      if (!target) {
        refusals.push({ task: wish.task, rule: "R14", message: "its load is no longer made", nearest: [] });
        continue;
      }
      if (!prober.fits(target, wish.start)) refusals.push(refusal(prober, target, problem));
    }
  }
  return refusals;
}
