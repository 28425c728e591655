import type { Task } from "../../schemas/index.js";
import type { MadeMode } from "../problem/modes.js";
import type { Prepared } from "../problem/prepare.js";
import type { CrewNeed, Hold } from "../search/model.js";
import { rowsHolding } from "./freeze.js";

function reordered(list: Int32Array, order: readonly number[]): Int32Array {
  return list.length > 0 ? Int32Array.from(order, (i) => list[i]!) : list;
}

/** Rows that hold the items of a task now come first, so that they are taken again when they are free. */
function holdHomeFirst(prepared: Prepared, hold: Hold, task: Task | undefined, second: Task | undefined): Hold {
  const first = (rows: Int32Array, of: Task | undefined): number[] => {
    const home = of?.places ? rowsHolding(prepared, rows, of) : rows;
    return [...rows.keys()].sort((a, b) => Number(home.includes(rows[b]!)) - Number(home.includes(rows[a]!)) || a - b);
  };
  const order = first(hold.rows, task);
  const { ride } = hold;
  return {
    ...hold,
    rows: reordered(hold.rows, order),
    heatRows: reordered(hold.heatRows, order),
    ride: ride && { ...ride, rows: reordered(ride.rows, first(ride.rows, second)) },
  };
}

/** The people who do it in the timetable in force come first. */
export function crewHomeFirst(prepared: Prepared, crew: CrewNeed | null, task: Task | undefined): CrewNeed | null {
  if (!crew || !task?.crew || crew.rows.length < 2) return crew;
  const isHome = (row: number): number => Number(prepared.book.meanings[row]!.of === task.crew!.group);
  return { ...crew, rows: Int32Array.from([...crew.rows].sort((a, b) => isHome(b) - isHome(a))) };
}

/** A mode whose shelves, racks, proofers and people are tried in such an order that those of the timetable in force come first. */
export function homeFirst(prepared: Prepared, made: MadeMode, tasks: readonly Task[]): MadeMode {
  const holds = [...made.mode.holds];
  const operations = [...made.mode.operations];
  for (const trace of made.meaning.steps) {
    const own = tasks.filter((task) => task.does === trace.step.does);
    if (trace.hold >= 0) holds[trace.hold] = holdHomeFirst(prepared, holds[trace.hold]!, own[0], own[own.length - 1]);
    else {
      const operation = operations[trace.operation]!;
      operations[trace.operation] = {
        ...operation,
        crew: crewHomeFirst(prepared, operation.crew, own[own.length - 1]),
      };
    }
  }
  return { mode: { ...made.mode, holds, operations }, meaning: made.meaning };
}
