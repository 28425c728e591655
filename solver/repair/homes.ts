import type { DayIndex } from "../problem/day-index.js";
import type { LoadSpec } from "../problem/explode.js";
import type { MadeMix } from "../problem/keeping.js";
import { type Kept, minuteIn } from "../problem/kept.js";
import type { MadeMode } from "../problem/modes.js";
import type { Prepared } from "../problem/prepare.js";
import type { BatchSpec } from "../problem/size.js";
import type { LoadHome, MixHome, Mode } from "../search/model.js";
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
    place: Place,
    private readonly make: () => Int32Array,
  ) {
    this.starts = place.starts;
    this.alternatives = place.alternatives;
    this.finish = place.finish;
    this.row = place.row;
    this.otherRowCost = place.otherRowCost;
    this.otherModeCost = place.otherModeCost;
  }

  get moveCost(): Int32Array {
    this.known ??= this.make();
    return this.known;
  }
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
    const isCarried = tasks.some(({ id }) => id.endsWith("-carried"));
    for (let m = 0; m < modes.length; m++) {
      const { mode, meaning } = modes[m]!;
      if (isCarried && meaning.isCarried === false) continue;
      if (meaning.route.id !== before.route || meaning.bakeSite !== before.bakedAt) continue;
      if ((meaning.handOver ?? undefined) !== before.handOver || meaning.trip?.id !== load.trip) continue;
      const home = this.chainInForce(mode, meaning, own);
      if (home) return new Home(m, home, () => this.moveCost(home));
    }
    return undefined;
  }

  private chainInForce(mode: Mode, meaning: MadeMode["meaning"], own: OwnTasks): Place | null {
    const { book } = this.prepared;
    const starts = new Int32Array(mode.operations.length).fill(-1);
    const alternatives = new Int8Array(mode.operations.length);
    let firstAhead = Number.POSITIVE_INFINITY;
    for (const trace of meaning.steps) {
      const task = own.last.get(trace.step.does);
      if (!task) return null;
      if (trace.hold >= 0) {
        const k = trace.hold;
        if (k < starts.length && starts[k]! < 0) starts[k] = minuteIn(this.index, task.end);
        if (k > 0 && starts[k - 1]! < 0) starts[k - 1] = minuteIn(this.index, own.first.get(trace.step.does)!.start);
        continue;
      }
      const k = trace.operation;
      const operation = mode.operations[k]!;
      const start = minuteIn(this.index, task.start);
      starts[k] = operation.from === operation.to ? operation.from : start;
      if (operation.from !== operation.to) firstAhead = Math.min(firstAhead, start);
      const at = operation.alternatives.findIndex(({ row }) => row >= 0 && book.meanings[row]!.unit === task.unit);
      alternatives[k] = Math.max(0, at);
    }
    mode.operations.forEach((operation, k) => {
      if (operation.from === operation.to) starts[k] = operation.from;
    });
    const last = mode.operations.length - 1;
    const finish = starts[last]! + mode.operations[last]!.alternatives[alternatives[last]!]!.minutes;
    const anchor = mode.operations[mode.anchor]!;
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

  private moveCost({ start, near }: Place): Int32Array {
    return near === null ? this.dearness.nothing : this.dearness.table(start, near);
  }

  ofMix(spec: BatchSpec, options: readonly MadeMix[]): MixHome | undefined {
    const task = this.kept.tasks.get(spec.id)?.find((candidate) => candidate.does === "mix");
    if (!task) return undefined;
    if (this.standing.batches.has(spec.id))
      return { option: 0, start: options[0]!.option.from, moveCost: this.dearness.nothing, otherOptionCost: 0 };
    const option = options.findIndex(({ meaning }) => `${meaning.site}/${meaning.mixer}` === task.unit);
    if (option < 0) return undefined;
    const start = minuteIn(this.index, task.start);
    const near = this.dearness.near(start);
    return {
      option,
      start,
      moveCost: this.dearness.table(start, near),
      otherOptionCost: this.dearness.otherUnit(near),
    };
  }
}
