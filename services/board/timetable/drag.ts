import { signal } from "@preact/signals";
import { mayPlan } from "../data/session.js";
import { MINUTE } from "../logic/clock.js";
import { canMove, type HandMove, type Verdict } from "../logic/hand-move.js";
import type { Row } from "../logic/rows/types.js";
import { unitsFor } from "../logic/units.js";
import { isImproving, plan, spoken } from "../state.js";
import { checker } from "./checker.js";

export interface Drag {
  readonly task: string;
  readonly row: string;
  readonly fromMs: number;
  readonly toMs: number;
  readonly isAllowed: boolean | undefined;
}

/** A task that is being moved by hand, and what the rules say to the place where it is held now. */
export const dragging = signal<Drag | undefined>(undefined);
export const trial = signal<{ readonly move: HandMove; readonly verdict: Verdict | undefined } | undefined>(undefined);

export function beginDrag(id: string): boolean {
  const current = plan.value;
  const task = current?.byId.get(id);
  if (!mayPlan.value || isImproving.value || !task?.task.unit || !canMove(task.task, current?.pins.get(id)))
    return false;
  dragging.value = { task: id, row: task.task.unit, fromMs: task.fromMs, toMs: task.toMs, isAllowed: undefined };
  return true;
}

export function moveDrag(fromMs: number, row: Row | undefined): void {
  const drag = dragging.value;
  const current = plan.value;
  const task = current?.byId.get(drag?.task ?? "");
  if (!drag || !current || !task) return;
  const unit = row?.unit && unitsFor(current, task.task).includes(row.unit) ? row.unit : drag.row;
  const start = Math.round(fromMs / MINUTE) * MINUTE;
  if (start === drag.fromMs && unit === drag.row) return;
  dragging.value = {
    task: drag.task,
    row: unit,
    fromMs: start,
    toMs: start + task.toMs - task.fromMs,
    isAllowed: undefined,
  };
  void tryMove({ task: drag.task, startMs: start, ...(unit === task.task.unit ? {} : { unit }) });
}

/** Asks what the rules say to a move and shows it. */
export async function tryMove(move: HandMove): Promise<void> {
  const current = plan.value;
  if (!current) return;
  if (trial.value?.move.task !== move.task) trial.value = { move, verdict: undefined };
  const verdict = await checker.judge(current, move);
  if (!verdict) return;
  trial.value = { move, verdict };
  const drag = dragging.value;
  if (drag && drag.task === move.task) dragging.value = { ...drag, isAllowed: verdict.is !== "refused" };
}

/** Let go: what is refused goes back to its place, the rest stays on trial until it is held or dropped. */
export function dropDrag(): void {
  const drag = dragging.value;
  dragging.value = undefined;
  if (!drag) return;
  if (drag.isAllowed === false)
    spoken.value = "Not allowed there. The task stays where it was; the reason is beside the timetable.";
}

export function forgetTrial(): void {
  trial.value = undefined;
}
