import type { LpModel } from "../lp/model.js";
import type { SearchModel } from "../search/model.js";
import { Frame, NO_UPPER } from "./frame.js";
import { groupLoads } from "./groups.js";
import { heaterKinds } from "./heater-kinds.js";
import { HeaterProgram, holdPools } from "./heater-program.js";
import { LoadColumns } from "./load-columns.js";
import { Pools, usedRows } from "./pools.js";
import { Crews, Trips, Units } from "./shared.js";
import { WholeRuns, type WholeRunsRow } from "./whole-runs.js";

export interface RelaxationOptions {
  /** Length of the steps; shorter ones bound better and take longer. */
  readonly stepMinutes: number;
  /** The cost of a plan: loads are not looked at where they alone cost as much, and what comes out bounds the plans that cost less. */
  readonly known?: number;
  /** Rows that were added to a program of other steps. */
  readonly rows?: readonly WholeRunsRow[];
}

/**
 * A linear program of which every plan of the model is a point that costs no more, so that its optimum is a bound. Time is cut into steps, and what is
 * counted is minutes of use in each step. Columns marked as integer are whole numbers in every plan: whoever solves it may hold them to that.
 */
export class Relaxation {
  private readonly frame: Frame;
  private readonly wholeRuns: WholeRuns;

  constructor(model: SearchModel, { stepMinutes, known = NO_UPPER, rows = [] }: RelaxationOptions) {
    const frame = new Frame(model, stepMinutes);
    this.frame = frame;
    this.wholeRuns = new WholeRuns(frame);
    const kinds = heaterKinds(model, stepMinutes, usedRows(model));
    const pools = new Pools(kinds);
    const units = new Units(frame);
    const crews = new Crews(frame);
    const trips = new Trips(frame);
    const loads = new LoadColumns(frame, pools, units, crews, trips, known);
    const groups = groupLoads(model, known);
    for (const group of groups) loads.addGroup(group);
    const heaters = kinds.kinds.map((kind) => new HeaterProgram(frame, kind, pools.all()));
    holdPools(frame, pools.all());
    units.addRows();
    crews.addRows();
    trips.addRows();
    groups.forEach(({ count }, g) => {
      const ids = new Set(loads.poolsOf[g]!.flatMap(({ sizes }) => [...sizes.keys()]));
      const own = heaters.filter((_, k) => kinds.kinds[k]!.classes.some(({ id }) => ids.has(id)));
      // If any load of the group is made, one of the heaters that take it is lit.
      frame.builder.addRow({ lower: count, upper: NO_UPPER }, [
        [loads.unmade[g]!, 1],
        ...own.flatMap((heater) => heater.lit.map(([column]): [number, number] => [column, count])),
      ]);
      const runs = own.map((heater) => heater.runsOf(ids));
      this.wholeRuns.watch(count, loads.startsOf[g]!, runs);
      this.wholeRuns.watch(
        count,
        loads.startsOf[g]!,
        own.map((heater) => heater.onTimes()),
      );
    });
    for (const row of rows) this.wholeRuns.take(row);
  }

  /** The rows that were added. */
  get rows(): readonly WholeRunsRow[] {
    return this.wholeRuns.rows;
  }

  get program(): LpModel {
    return this.frame.builder.build();
  }

  /** Adds rows that every plan keeps and the point breaks; says how many. */
  cut(point: Float64Array, perGroup: number): number {
    return this.wholeRuns.cut(point, perGroup);
  }
}
