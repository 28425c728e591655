import type { Task } from "../../schemas/index.js";
import type { DayIndex } from "../problem/day-index.js";
import type { LoadSpec } from "../problem/explode.js";
import type { MadeMix } from "../problem/keeping.js";
import { type Kept, startIn } from "../problem/kept.js";
import type { MadeMode } from "../problem/modes.js";
import type { Prepared } from "../problem/prepare.js";
import type { RowBook } from "../problem/row-book.js";
import type { BatchSpec } from "../problem/size.js";
import type { LoadHome, MixHome, Mode, Operation } from "../search/model.js";
import { Dearness } from "./move-cost.js";
import { type OwnTasks, ownTasksOf } from "./own-tasks.js";
import type { Standing } from "./standing.js";

/** Where a load is in the timetable in force. */
interface Place extends Omit<LoadHome, "mode" | "moveCost"> {
  /** Of the anchor. */
  readonly start: number;
  /** What a move costs at the most; null when there is nothing to move any more. */
  readonly near: number | null;
}

/** A load's home. What it costs to be at other minutes is worked out when somebody asks: of most loads of a first repair nobody does. */
class Home implements LoadHome {
  readonly starts: Int32Array;
  readonly alternatives: Int8Array;
  readonly finish: number;
  readonly row: number;
  readonly otherRowCost: number;
  readonly otherModeCost: number;
  private known: Int32Array | null = null;

  constructor(
    readonly mode: number,
    private readonly place: Place,
    private readonly dearness: Dearness,
  ) {
    this.starts = place.starts;
    this.alternatives = place.alternatives;
    this.finish = place.finish;
    this.row = place.row;
    this.otherRowCost = place.otherRowCost;
    this.otherModeCost = place.otherModeCost;
  }

  get moveCost(): Int32Array {
    const { start, near } = this.place;
    this.known ??= near === null ? this.dearness.nothing : this.dearness.table(start, near);
    return this.known;
  }
}

/** A mix's home, its table too only when somebody asks. */
class HomeOfMix implements MixHome {
  private known: Int32Array | null = null;

  constructor(
    readonly option: number,
    readonly start: number,
    readonly otherOptionCost: number,
    private readonly near: number,
    private readonly dearness: Dearness,
  ) {}

  get moveCost(): Int32Array {
    this.known ??= this.dearness.table(this.start, this.near);
    return this.known;
  }
}

/** The first alternative of an operation that is on a unit; the first of all when none is. */
function alternativeOn(meanings: RowBook["meanings"], { alternatives }: Operation, unit: string | undefined): number {
  for (let i = 0; i < alternatives.length; i++) {
    const { row } = alternatives[i]!;
    if (row >= 0 && meanings[row]!.unit === unit) return i;
  }
  return 0;
}

/** Where loads and mixes are at home: where the timetable in force has them, and what it costs to be elsewhere (D23). */
export class Homes {
  private readonly index: DayIndex;
  private readonly dearness: Dearness;

  constructor(
    private readonly prepared: Prepared,
    private readonly kept: Kept,
    private readonly standing: Standing,
    moveFactor: number,
  ) {
    this.index = prepared.index;
    this.dearness = new Dearness(this.index, moveFactor);
  }

  ofLoad(load: LoadSpec, modes: readonly MadeMode[]): LoadHome | undefined {
    const before = this.kept.before.get(load.id);
    const tasks = this.kept.tasks.get(load.id);
    if (!before || !tasks || this.standing.loads.get(load.id)?.scrapped) return undefined;
    const own = ownTasksOf(tasks);
    const isToBeCarried = own.isCarried && !this.isWhereItIsCarried(load.id, tasks);
    for (let m = 0; m < modes.length; m++) {
      const { mode, meaning } = modes[m]!;
      if (isToBeCarried && meaning.isCarried === false) continue;
      if (meaning.route.id !== before.route || meaning.bakeSite !== before.bakedAt) continue;
      if ((meaning.handOver ?? undefined) !== before.handOver || meaning.trip?.id !== load.trip) continue;
      const home = this.chainInForce(mode, meaning, own);
      if (home) return new Home(m, home, this.dearness);
    }
    return undefined;
  }

  /** Has all that the plan in force carries to other positions been carried there? */
  private isWhereItIsCarried(load: string, tasks: readonly Task[]): boolean {
    const begun = this.standing.loads.get(load)?.tasks ?? [];
    return tasks.every(({ id }) => !id.endsWith("-carried") || begun.some(({ task }) => task.id === id));
  }

  private chainInForce(mode: Mode, meaning: MadeMode["meaning"], own: OwnTasks): Place | null {
    const { meanings } = this.prepared.book;
    const { origin } = this.index;
    const { operations } = mode;
    const starts = new Int32Array(operations.length).fill(-1);
    const alternatives = new Int8Array(operations.length);
    let firstAhead = Number.POSITIVE_INFINITY;
    for (const trace of meaning.steps) {
      const last = own.last.get(trace.step.does);
      if (!last) return null;
      if (trace.hold >= 0) {
        const k = trace.hold;
        if (k < starts.length && starts[k]! < 0) starts[k] = last.end - origin;
        if (k > 0 && starts[k - 1]! < 0) starts[k - 1] = own.first.get(trace.step.does)!.start - origin;
        continue;
      }
      const k = trace.operation;
      const operation = operations[k]!;
      const start = last.start - origin;
      starts[k] = operation.from === operation.to ? operation.from : start;
      if (operation.from !== operation.to) firstAhead = Math.min(firstAhead, start);
      alternatives[k] = alternativeOn(meanings, operation, last.task.unit);
    }
    for (let k = 0; k < operations.length; k++) {
      const { from, to } = operations[k]!;
      if (from === to) starts[k] = from;
    }
    const end = operations.length - 1;
    const finish = starts[end]! + operations[end]!.alternatives[alternatives[end]!]!.minutes;
    const anchor = operations[mode.anchor]!;
    const isOver = anchor.from === anchor.to;
    const near = this.dearness.near(firstAhead);
    return {
      starts,
      alternatives,
      finish,
      row: anchor.alternatives[alternatives[mode.anchor]!]!.row,
      start: starts[mode.anchor]!,
      near: isOver ? null : near,
      otherRowCost: isOver ? 0 : this.dearness.otherUnit(near),
      otherModeCost: isOver ? 0 : this.dearness.otherWay(near),
    };
  }

  ofMix(spec: BatchSpec, options: readonly MadeMix[]): MixHome | undefined {
    const task = this.kept.tasks.get(spec.id)?.find((candidate) => candidate.does === "mix");
    if (!task) return undefined;
    if (this.standing.batches.has(spec.id))
      return { option: 0, start: options[0]!.option.from, moveCost: this.dearness.nothing, otherOptionCost: 0 };
    const option = options.findIndex(({ meaning }) => `${meaning.site}/${meaning.mixer}` === task.unit);
    if (option < 0) return undefined;
    const start = startIn(this.index, task);
    const near = this.dearness.near(start);
    return new HomeOfMix(option, start, this.dearness.otherUnit(near), near, this.dearness);
  }
}
