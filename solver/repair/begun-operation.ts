import type { BegunTask, RowUse } from "../problem/begun.js";
import type { Prepared } from "../problem/prepare.js";
import type { RowBook } from "../problem/row-book.js";
import { holdIn, holdOf, operationWith } from "../search/copies.js";
import type { Hold, Mode, Operation, Ride } from "../search/model.js";
import { alternativeOn } from "./begun-on.js";

const NO_ROWS = new Int32Array(0);

/** A worked operation that has begun: where it was, for as long as it really takes; null when the mode does not have it there. */
export function begunOperation(
  prepared: Prepared,
  operation: Operation,
  { task, start, end }: BegunTask,
): Operation | null {
  const { meanings } = prepared.book;
  const alternative = alternativeOn(prepared, operation, task.unit);
  if (!alternative) return null;
  const { row, amount } = alternative;
  const minutes = (end ?? start) - start;
  const crew =
    operation.crew && task.crew
      ? {
          rows: rowsOf(meanings, operation.crew.rows, task.crew.group),
          heads: task.crew.heads,
          minutes: task.crew.minutes ?? 0,
        }
      : null;
  return { alternatives: [{ row, amount, minutes }], crew, from: start, to: start };
}

/** Those of a group of people. */
function rowsOf(meanings: RowBook["meanings"], rows: Int32Array, group: string): Int32Array {
  let count = 0;
  for (const row of rows) if (meanings[row]!.of === group) count++;
  const own = new Int32Array(count);
  let at = 0;
  for (const row of rows) if (meanings[row]!.of === group) own[at++] = row;
  return own;
}

/** Adds what the operation of a begun task takes of rows. */
export function addUses(uses: RowUse[], operation: Operation, { task: { tempC } }: BegunTask): void {
  const { row, amount, minutes } = operation.alternatives[0]!;
  const { from } = operation;
  if (row >= 0 && minutes > 0) uses.push({ row, from, to: from + minutes, amount, tempC });
  const { crew } = operation;
  if (crew && crew.rows.length > 0 && minutes > 0) {
    const to = from + (crew.minutes > 0 ? Math.min(crew.minutes, minutes) : minutes);
    uses.push({ row: crew.rows[0]!, from, to, amount: crew.heads });
  }
}

/** Nothing is needed any more; an anchor needs a row that is on a heater. */
export function stripped(operation: Operation, isAnchor: boolean, spareRow: number): Operation {
  const { minutes } = operation.alternatives[0]!;
  return operationWith([{ row: isAnchor ? spareRow : -1, amount: 0, minutes }], null, operation.from, operation.to);
}

/** Of a list beside rows, what belongs to the wanted rows. */
export function picked(list: Int32Array, beside: Int32Array, wanted: Int32Array): Int32Array {
  if (list.length === 0 || wanted.length === 0) return NO_ROWS;
  let count = 0;
  for (const row of beside) if (wanted.includes(row)) count++;
  if (count === list.length) return list;
  const kept = new Int32Array(count);
  let at = 0;
  for (let i = 0; i < beside.length; i++) if (wanted.includes(beside[i]!)) kept[at++] = list[i]!;
  return kept;
}

export function withRide(hold: Hold, ride: Ride): Hold {
  return holdIn(hold, hold.rows, hold.heatRows, ride);
}

/** The items stay in `rows` until their place fails, and are carried to another row then: a ride of no length. */
export function carried(hold: Hold, rows: Int32Array, all: Int32Array, begun: BegunTask, at: number): Hold | null {
  const others = all.filter((row) => !rows.includes(row));
  if (begun.carriedAt === undefined || others.length === 0) return null;
  const minute = Math.max(begun.carriedAt, at);
  const heatRows = rows === hold.rows ? hold.heatRows : NO_ROWS;
  return holdIn(hold, rows, heatRows, { leave: minute, arrive: minute, rows: others });
}

/** A hold over which nothing is left to decide. */
export function over(hold: Hold, gap: number): Hold {
  return holdIn(holdOf(hold, gap, gap), NO_ROWS, NO_ROWS, null);
}

/** A point between two holds, at which nobody does anything, is fixed to when it was. */
export function fixPoint(
  { operations }: Mode,
  k: number,
  minute: number,
  full: Operation[],
  search: Operation[],
): void {
  const operation = operations[k];
  if (!operation || !isPoint(operation)) return;
  full[k] = operationWith(operation.alternatives, operation.crew, minute, minute);
  search[k] = full[k]!;
}

function isPoint({ alternatives, crew }: Operation): boolean {
  if (crew !== null) return false;
  for (const { row, minutes } of alternatives) if (row >= 0 || minutes !== 0) return false;
  return true;
}

export function arePossible(operations: readonly Operation[]): boolean {
  for (const { alternatives, from, to } of operations) if (alternatives.length === 0 || from > to) return false;
  return true;
}
