import type { Task } from "../../schemas/index.js";
import type { BegunTask, RowUse } from "../problem/begun.js";
import { endIn, startIn } from "../problem/kept.js";
import { type MadeMode, meaningWith, type StepTrace } from "../problem/modes.js";
import type { Prepared } from "../problem/prepare.js";
import { holdIn, holdOf, modeWith, operationWith } from "../search/copies.js";
import type { Alternative, Hold, Mode, Operation } from "../search/model.js";
import {
  addUses,
  arePossible,
  begunOperation,
  carried,
  fixPoint,
  over,
  picked,
  stripped,
  withRide,
} from "./begun-operation.js";
import type { BegunSteps } from "./begun-steps.js";
import { Hindrances } from "./no-way-on.js";
import { rowsHolding, spreadUses } from "./rows-holding.js";

const NO_ROWS = new Int32Array(0);
const DEFAULT_INTERRUPT_MINUTES = 5;

/** A way to go on with a load that has begun. */
export interface Frozen {
  /** As the search sees it: what has begun is fixed and needs nothing more. */
  readonly made: MadeMode;
  /** The same with the rows that begun tasks are on, for those who write tasks down. */
  readonly full: Mode;
  readonly uses: readonly RowUse[];
}

/** Whether a standing task in progress stays in its rows, or is carried to others because its unit fails. */
type Whereabouts = "stays" | "carried";

/** An operation that has begun, and what is left of it for the search; null when the mode does not have it there. */
interface FixedOperation {
  readonly operation: Operation;
  readonly begun: BegunTask;
  readonly isAnchor: boolean;
  readonly fixed: Operation | null;
  readonly search: Operation | null;
}

interface OverHold {
  readonly hold: Hold;
  readonly gap: number;
  readonly now: Hold;
}

/** A way of the load, and how it can go on. */
interface FrozenWay {
  readonly of: MadeMode;
  readonly where: Whereabouts;
  readonly frozen: Frozen | null;
}

/** Of all rows of a hold and those that take up the heat beside them, those that a task's items stay in. */
interface Staying {
  readonly all: Int32Array;
  readonly allHeat: Int32Array;
  readonly task: Task;
  readonly stay: Int32Array;
  readonly rows: Int32Array;
  readonly heatRows: Int32Array;
}

/** How loads that have begun can go on: everything begun fixed at its real times, the rest from `at` on. */
export class Freezer {
  /** By operation: the same from `at` on. Many loads share their operations. */
  private readonly ahead = new Map<Operation, Operation>();
  /** Of the load whose ways are being frozen: they share holds and operations where only the van's times differ. */
  private steps: BegunSteps | null = null;
  private fixedKnown: FixedOperation[] = [];
  private overKnown: OverHold[] = [];
  private stayingKnown: Staying[] = [];
  /** Why ways of the load that is being frozen are none. */
  readonly hindrances = new Hindrances();
  private waysKnown: FrozenWay[] = [];

  constructor(
    private readonly prepared: Prepared,
    private readonly at: number,
    private readonly spareRow: number,
  ) {}

  /** A mode for a load that has begun; null when the mode differs from what has begun: `hindrances` knows why. */
  freeze(
    made: MadeMode,
    steps: BegunSteps,
    mixEnd: number,
    planned: readonly Task[],
    where: Whereabouts = "stays",
  ): Frozen | null {
    this.begin(steps);
    const { trip } = made.meaning;
    if (steps.van) return this.freezeAnew(made, steps, mixEnd, planned, where);
    if (trip && trip.leave < this.at) return this.hindrances.note("other-way");
    for (const way of this.waysKnown) {
      const like = way.where === where && areOfOneChain(way.of, made) ? onItsTrip(way, made) : undefined;
      if (like !== undefined) return like;
    }
    const frozen = this.freezeAnew(made, steps, mixEnd, planned, where);
    this.waysKnown.push({ of: made, where, frozen });
    return frozen;
  }

  private freezeAnew(
    made: MadeMode,
    steps: BegunSteps,
    mixEnd: number,
    planned: readonly Task[],
    where: Whereabouts,
  ): Frozen | null {
    const { prepared, at, spareRow, hindrances } = this;
    const { mode, meaning } = made;
    const { van } = steps;
    const { load, tasks } = steps.begun;
    if (meaning.route.id !== load.route && tasks.length > 0) return hindrances.note("other-way");
    if (van && meaning.trip?.id !== van.task.van) return hindrances.note("other-way");
    if (van && (meaning.handOver ?? undefined) !== load.handOver) return hindrances.note("other-way");
    const full: Operation[] = mode.operations.slice();
    const search: Operation[] = new Array(full.length);
    for (let k = 0; k < search.length; k++) search[k] = this.fromNow(full[k]!);
    const holds: Hold[] = mode.holds.slice();
    const uses: RowUse[] = [];
    let warmMinutes = mode.warmMinutes;
    for (const trace of meaning.steps) {
      const step = steps.of(trace.step.does);
      if (!step) continue;
      const { task, second } = step;
      const site = trace.hold >= 0 && mode.holds[trace.hold]!.ride ? meaning.mixSite : trace.site;
      if (site !== step.site) return hindrances.note("other-way");
      if (trace.operation >= 0) {
        const k = trace.operation;
        const isAnchor = k === mode.anchor;
        if (task.cutAt !== undefined) {
          const rest = second
            ? begunOperation(prepared, mode.operations[k]!, second)
            : restOfBake(prepared, mode.operations[k]!, task, trace);
          if (!rest) return hindrances.note("rest", task);
          const first = begunOperation(prepared, mode.operations[k]!, task);
          if (first) addUses(uses, first, task);
          const before = k > 0 ? full[k - 1]! : null;
          const ready = before ? before.from + before.alternatives[0]!.minutes : mixEnd;
          if (second) addUses(uses, rest, second);
          full[k] = second ? rest : { ...rest, from: Math.max(rest.from, at) };
          search[k] = second ? stripped(rest, isAnchor, spareRow) : full[k]!;
          holds[k] = holdOf(over(holds[k]!, 0), 0, rest.to - ready);
          warmMinutes = prepared.index.horizon;
          continue;
        }
        const { fixed, search: rid } = this.fixed(mode.operations[k]!, task, isAnchor);
        if (!fixed) return hindrances.note("unit", task);
        addUses(uses, fixed, task);
        full[k] = fixed;
        search[k] = rid!;
        if (isAnchor) warmMinutes = prepared.index.horizon;
        continue;
      }
      const k = trace.hold;
      fixPoint(mode, k - 1, task.start, full, search);
      const open = second ?? task;
      const rides = mode.holds[k]!.ride !== null;
      if (rides && (second || van)) holds[k] = holdIn(holds[k]!, NO_ROWS, NO_ROWS, holds[k]!.ride);
      if (second) {
        const { ride } = holds[k]!;
        if (!ride) return hindrances.note("other-way");
        const rows = rowsHolding(prepared, ride.rows, second.task);
        const moved =
          where === "carried"
            ? carried(holds[k]!, rows, ride.rows, second, at)
            : withRide(holds[k]!, { leave: ride.leave, arrive: ride.arrive, rows });
        if (!moved || (rows.length === 0 && where === "stays")) return hindrances.note("place", second);
        holds[k] = moved;
      } else if (!(rides && van) && task.end === null && holds[k]!.rows.length > 0) {
        // A van still takes it from here: there is no way to write down a stay in three parts.
        if (rides && where === "carried") return hindrances.note("place", task);
        const all = holds[k]!.rows;
        const { stay, rows, heatRows } = this.staying(holds[k]!, task.task);
        const there = holdIn(holds[k]!, rows, heatRows, holds[k]!.ride);
        const moved = where === "carried" ? carried(there, stay, all, task, at) : there;
        if (!moved || (stay.length === 0 && where === "stays")) return hindrances.note("place", task);
        holds[k] = moved;
        // Its positions are in service for different times, so in different rows, and no row alone holds it until it is carried.
        if (stay.length === 0) uses.push(...spreadUses(prepared, all, task));
      }
      // Where its place fails, a stay that is not carried is over by then.
      if (where === "stays" && open.carriedAt !== undefined && k < search.length)
        search[k] = { ...search[k]!, to: Math.min(search[k]!.to, open.carriedAt) };
      // On the van the retard goes on: it ends after its second part.
      const isOnTheWay = rides && van !== undefined && !second;
      if (open.end !== null && !isOnTheWay) fixPoint(mode, k, open.end, full, search);
    }
    // What lies between two begun operations is over.
    let end: number | null = mixEnd;
    for (let k = 0; k < full.length; k++) {
      const operation = full[k]!;
      const isFixed = operation.from === operation.to && search[k] !== undefined && isBegun(search[k]!, operation);
      if (isFixed && end !== null) holds[k] = this.over(mode.holds[k]!, operation.from - end);
      else if (end !== null) holds[k] = stretched(prepared, made, k, holds[k]!, end, at, planned);
      end = isFixed ? operation.from + operation.alternatives[0]!.minutes : null;
    }
    if (!arePossible(search)) return hindrances.note("over", steps.of("bake")?.task);
    return {
      made: {
        mode: modeWith(mode, holds, search, warmMinutes),
        meaning: meaningWith(meaning, where === "carried"),
      },
      full: modeWith(mode, holdsOfFull(mode.holds, holds), full, warmMinutes),
      uses,
    };
  }

  /** What is worked out of a load's ways is worked out once for all of them. */
  private begin(steps: BegunSteps): void {
    if (steps === this.steps) return;
    this.steps = steps;
    this.hindrances.clear();
    this.fixedKnown = [];
    this.overKnown = [];
    this.stayingKnown = [];
    this.waysKnown = [];
  }

  private fixed(operation: Operation, begun: BegunTask, isAnchor: boolean): FixedOperation {
    for (const one of this.fixedKnown)
      if (one.operation === operation && one.begun === begun && one.isAnchor === isAnchor) return one;
    const fixed = begunOperation(this.prepared, operation, begun);
    const search = fixed && stripped(fixed, isAnchor, this.spareRow);
    const one = { operation, begun, isAnchor, fixed, search };
    this.fixedKnown.push(one);
    return one;
  }

  /** Where the items of a task stand already, of the rows of a hold. */
  private staying(hold: Hold, task: Task): Staying {
    for (const one of this.stayingKnown)
      if (one.all === hold.rows && one.allHeat === hold.heatRows && one.task === task) return one;
    const stay = rowsHolding(this.prepared, hold.rows, task);
    const rows = picked(hold.rows, hold.rows, stay);
    const heatRows = picked(hold.heatRows, hold.rows, stay);
    const one = { all: hold.rows, allHeat: hold.heatRows, task, stay, rows, heatRows };
    this.stayingKnown.push(one);
    return one;
  }

  /** Of what a hold was, only how much it takes is left. */
  private over(hold: Hold, gap: number): Hold {
    for (const one of this.overKnown) if (one.hold === hold && one.gap === gap) return one.now;
    const now = over(hold, gap);
    this.overKnown.push({ hold, gap, now });
    return now;
  }

  private fromNow(operation: Operation): Operation {
    let now = this.ahead.get(operation);
    if (!now) {
      const { alternatives, crew, from, to } = operation;
      now = operationWith(alternatives, crew, Math.max(from, this.at), to);
      this.ahead.set(operation, now);
    }
    return now;
  }
}

/**
 * D21: a greatest wait that has run out when the report comes is not held against the load: a step that stands may end at the instant, work may begin at the
 * instant or when it was planned to.
 */
function stretched(
  prepared: Prepared,
  { meaning }: MadeMode,
  k: number,
  hold: Hold,
  end: number,
  at: number,
  planned: readonly Task[],
): Hold {
  let until = at;
  if (!isSteps(meaning.steps, k)) {
    const task = firstThat(planned, workAt(meaning.steps, k));
    if (task) until = Math.max(at, startIn(prepared.index, task));
  }
  return until - end > hold.greatest ? holdOf(hold, hold.least, until - end) : hold;
}

/** Is a hold what a step lasts for? */
function isSteps(steps: readonly StepTrace[], k: number): boolean {
  for (const { hold } of steps) if (hold === k) return true;
  return false;
}

/** What is done in an operation. */
function workAt(steps: readonly StepTrace[], k: number): Task["does"] | undefined {
  for (const { operation, step } of steps) if (operation === k) return step.does;
  return undefined;
}

function firstThat(tasks: readonly Task[], does: Task["does"] | undefined): Task | undefined {
  for (const task of tasks) if (task.does === does) return task;
  return undefined;
}

/** Whoever writes tasks down wants to know of rides that are over, too. */
function holdsOfFull(before: readonly Hold[], now: readonly Hold[]): Hold[] {
  const full: Hold[] = new Array(now.length);
  for (let k = 0; k < now.length; k++) {
    const hold = now[k]!;
    const { ride } = before[k]!;
    full[k] = hold.ride === null && ride ? withRide(hold, ride) : hold;
  }
  return full;
}

/** Do two ways differ in nothing but the trip? */
function areOfOneChain(a: MadeMode, b: MadeMode): boolean {
  return a.meaning.steps === b.meaning.steps && a.mode.operations === b.mode.operations;
}

/** A way of a load of which no van has begun, from the same on another trip: only its rides are other. Undefined where that is not all. */
function onItsTrip({ of, where, frozen }: FrozenWay, { mode, meaning }: MadeMode): Frozen | null | undefined {
  if (!frozen) return null;
  const like = frozen.made.mode;
  const holds: Hold[] = new Array(mode.holds.length);
  for (let k = 0; k < holds.length; k++) {
    const hold = like.holds[k]!;
    const { ride } = hold;
    const before = of.mode.holds[k]!;
    const now = mode.holds[k]!;
    if (before === now || ride === null) holds[k] = hold;
    else if (ride === before.ride && now.ride) holds[k] = withRide(hold, now.ride);
    else return undefined;
  }
  const { warmMinutes } = like;
  return {
    made: {
      mode: modeWith(mode, holds, like.operations, warmMinutes),
      meaning: meaningWith(meaning, where === "carried"),
    },
    full: modeWith(mode, holdsOfFull(mode.holds, holds), frozen.full.operations, warmMinutes),
    uses: frozen.uses,
  };
}

/** A begun operation was made anew for the search, or is a point that was fixed. */
function isBegun(search: Operation, full: Operation): boolean {
  return search === full || search.alternatives[0]!.amount === 0;
}

/** The rest of a bake that was cut short, on another deck at the same temperature. */
function restOfBake(prepared: Prepared, operation: Operation, begun: BegunTask, trace: StepTrace): Operation | null {
  if (trace.step.does !== "bake") return null;
  const cut = begun.cutAt!;
  const planned = endIn(prepared.index, begun.task) - startIn(prepared.index, begun.task);
  const { meanings } = prepared.book;
  const alternatives: Alternative[] = operation.alternatives
    .filter(({ row }) => meanings[row]!.unit !== begun.task.unit)
    .map((alternative) => ({
      ...alternative,
      minutes: Math.max(1, planned - (cut - begun.start) + alternative.minutes - planned),
    }));
  if (alternatives.length === 0) return null;
  const within = trace.step.interruptMinutes ?? DEFAULT_INTERRUPT_MINUTES;
  return operationWith(alternatives, operation.crew, cut, cut + within);
}
