import type { Task } from "../../schemas/index.js";
import type { MadeMode } from "../problem/modes.js";
import type { Prepared } from "../problem/prepare.js";
import { holdIn, modeWith, operationWith } from "../search/copies.js";
import type { CrewNeed, Hold, Operation } from "../search/model.js";
import { type OwnTasks, ownTasksOf } from "./own-tasks.js";
import { isHolding } from "./rows-holding.js";

/** The people who do it in the timetable in force come first. */
export function crewHomeFirst(prepared: Prepared, crew: CrewNeed | null, task: Task | undefined): CrewNeed | null {
  if (!crew || !task?.crew || crew.rows.length < 2) return crew;
  const { meanings } = prepared.book;
  const { group } = task.crew;
  // A site has one row for each group.
  let home = 0;
  while (home < crew.rows.length && meanings[crew.rows[home]!]!.of !== group) home++;
  if (home === 0 || home === crew.rows.length) return crew;
  const rows = crew.rows.slice();
  rows.copyWithin(1, 0, home);
  rows[0] = crew.rows[home]!;
  return { ...crew, rows };
}

/** What was put in order already: of a load's ways there are but a few. */
interface Ordered<T> {
  readonly of: T;
  readonly ordered: T;
}

interface OwnStay {
  readonly hold: number;
  readonly first: Task;
  readonly last: Task;
}

function knownOf<T>(known: readonly Ordered<T>[], of: T): T | undefined {
  for (const one of known) if (one.of === of) return one.ordered;
  return undefined;
}

/**
 * Has shelves, racks, proofers and people of a load tried in such an order that those of the timetable in force come first. Its ways share holds and operations where
 * only the van's times differ: each is put in order once.
 */
export class HomeFirst {
  private readonly own: OwnTasks;
  private readonly holds: Ordered<Hold>[] = [];
  private readonly operations: Ordered<Operation>[] = [];
  private readonly stays: { readonly of: MadeMode["meaning"]["steps"]; readonly stays: readonly OwnStay[] }[] = [];
  private readonly lists: Ordered<readonly Operation[]>[] = [];

  constructor(
    private readonly prepared: Prepared,
    tasks: readonly Task[],
  ) {
    this.own = ownTasksOf(tasks);
  }

  /** The mode itself where nothing is in another order. */
  ordered(made: MadeMode): MadeMode {
    const { mode, meaning } = made;
    let holds: Hold[] | undefined;
    for (const { hold: h, first, last } of this.staysIn(meaning)) {
      const before = (holds ?? mode.holds)[h]!;
      const hold = this.hold(before, first, last);
      if (hold === before) continue;
      holds ??= mode.holds.slice();
      holds[h] = hold;
    }
    const operations = this.allOperations(made);
    if (!holds && operations === mode.operations) return made;
    return { mode: modeWith(mode, holds ?? mode.holds, operations, mode.warmMinutes), meaning };
  }

  /** Steps that stand, with their first and last tasks. */
  private staysIn({ steps }: MadeMode["meaning"]): readonly OwnStay[] {
    for (const one of this.stays) if (one.of === steps) return one.stays;
    const stays: OwnStay[] = [];
    for (const { step, hold } of steps) {
      const first = this.own.first.get(step.does)?.task;
      const last = this.own.last.get(step.does)?.task;
      if (hold >= 0 && first && last) stays.push({ hold, first, last });
    }
    this.stays.push({ of: steps, stays });
    return stays;
  }

  private allOperations({ mode, meaning }: MadeMode): readonly Operation[] {
    const known = knownOf(this.lists, mode.operations);
    if (known) return known;
    let operations: Operation[] | undefined;
    for (const { step, operation: o } of meaning.steps) {
      const last = o >= 0 ? this.own.last.get(step.does)?.task : undefined;
      if (!last) continue;
      const before = mode.operations[o]!;
      const operation = this.operation(before, last);
      if (operation === before) continue;
      operations ??= mode.operations.slice();
      operations[o] = operation;
    }
    const ordered = operations ?? mode.operations;
    this.lists.push({ of: mode.operations, ordered });
    return ordered;
  }

  private operation(operation: Operation, last: Task): Operation {
    if (!last.crew || !operation.crew || operation.crew.rows.length < 2) return operation;
    let ordered = knownOf(this.operations, operation);
    if (!ordered) {
      const crew = crewHomeFirst(this.prepared, operation.crew, last);
      const { alternatives, from, to } = operation;
      ordered = crew === operation.crew ? operation : operationWith(alternatives, crew, from, to);
      this.operations.push({ of: operation, ordered });
    }
    return ordered;
  }

  private hold(hold: Hold, first: Task, last: Task): Hold {
    if (hold.rows.length < 2 && (!hold.ride || hold.ride.rows.length < 2)) return hold;
    let ordered = knownOf(this.holds, hold);
    if (!ordered) {
      const order = this.order(hold.rows, first);
      const { ride } = hold;
      const after = ride && this.order(ride.rows, last);
      ordered =
        order || after
          ? holdIn(
              hold,
              reordered(hold.rows, order),
              reordered(hold.heatRows, order),
              ride && { leave: ride.leave, arrive: ride.arrive, rows: reordered(ride.rows, after) },
            )
          : hold;
      this.holds.push({ of: hold, ordered });
    }
    return ordered;
  }

  /** Places in a list of rows, those first where the items of a task are; null when that is the order they have. */
  private order(rows: Int32Array, task: Task): readonly number[] | null {
    if (rows.length < 2 || !task.places) return null;
    const first: number[] = [];
    const others: number[] = [];
    for (let i = 0; i < rows.length; i++) (isHolding(this.prepared, rows[i]!, task) ? first : others).push(i);
    // None is better than another, or they come first already.
    if (first.length === 0 || first[first.length - 1] === first.length - 1) return null;
    for (const i of others) first.push(i);
    return first;
  }
}

function reordered(list: Int32Array, order: readonly number[] | null): Int32Array {
  if (!order || list.length === 0) return list;
  const sorted = new Int32Array(order.length);
  for (let i = 0; i < sorted.length; i++) sorted[i] = list[order[i]!]!;
  return sorted;
}
