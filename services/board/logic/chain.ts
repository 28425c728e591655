import type { Step, Task, Timetable } from "../../../schemas/index.js";
import { MINUTE } from "./clock.js";
import type { Plan, PlannedTask } from "./plan.js";

/** New times and places for tasks, by id. Everything else stays. */
export interface Moved {
  readonly fromMs: number;
  readonly toMs: number;
  readonly unit?: string;
}

const STANDS = new Set<Task["does"]>(["rest", "retard", "temper", "proof", "cool"]);
/** Vans leave when they leave; nothing here moves them. */
const FIXED = new Set<Task["does"]>(["van", "mix"]);

interface Link {
  readonly task: PlannedTask;
  readonly least: number;
  readonly greatest: number;
  /** Greatest and least wait before the next task, ms. */
  readonly waitLeast: number;
  readonly waitGreatest: number;
}

function stepFor(steps: readonly Step[], does: Task["does"]): Step | undefined {
  return steps.find((step) => step.does === does);
}

/** A load's tasks in order with their limits. */
function links(plan: Plan, loadId: string): Link[] {
  const tasks = plan.byLoad.get(loadId) ?? [];
  return tasks.map((task) => {
    const route = task.product?.routes.find((candidate) => candidate.id === task.load?.route);
    const step = stepFor(route?.steps ?? [], task.task.does);
    const length = task.toMs - task.fromMs;
    const stands = STANDS.has(task.task.does);
    const isHalf = task.task.does === "retard" && tasks.filter((other) => other.task.does === "retard").length > 1;
    const wait = step && "waitAfter" in step ? step.waitAfter : undefined;
    return {
      task,
      least: stands && step && "leastMinutes" in step ? (isHalf ? 0 : step.leastMinutes * MINUTE) : length,
      greatest: stands && step && "greatestMinutes" in step ? step.greatestMinutes * MINUTE : length,
      waitLeast: (wait?.leastMinutes ?? 0) * MINUTE,
      waitGreatest: (wait?.greatestMinutes ?? 0) * MINUTE,
    };
  });
}

const clamp = (x: number, low: number, high: number): number => Math.min(Math.max(x, low), high);

/**
 * Puts one task of a load elsewhere in time and draws the rest of the load along as little as its waits allow: standing steps stretch
 * and shrink first, then worked steps shift. Vans and mixes stay. Whether the outcome is allowed is for the verifier to say.
 */
export function moveInChain(plan: Plan, taskId: string, startMs: number): Map<string, Moved> {
  const target = plan.byId.get(taskId);
  const moved = new Map<string, Moved>();
  if (!target) return moved;
  moved.set(taskId, { fromMs: startMs, toMs: startMs + target.toMs - target.fromMs });
  if (!target.load) {
    if (target.task.does === "mix") followMix(plan, target, startMs + target.toMs - target.fromMs, moved);
    return withoutIdle(plan, taskId, moved);
  }
  const chain = links(plan, target.load.id);
  const at = chain.findIndex((link) => link.task.id === taskId);
  forward(chain, at, moved);
  backward(chain, at, moved);
  return withoutIdle(plan, taskId, moved);
}

/** Tasks that stay where they are have not moved. */
function withoutIdle(plan: Plan, target: string, moved: Map<string, Moved>): Map<string, Moved> {
  for (const [id, { fromMs, toMs }] of moved) {
    const task = plan.byId.get(id)!;
    if (id !== target && task.fromMs === fromMs && task.toMs === toMs) moved.delete(id);
  }
  return moved;
}

/** Loads of a batch begin when its mix ends. */
function followMix(plan: Plan, mix: PlannedTask, endMs: number, moved: Map<string, Moved>): void {
  for (const load of plan.timetable.loads) {
    if (load.batch !== mix.batch?.id) continue;
    const chain = links(plan, load.id);
    const first = chain[0];
    if (!first) continue;
    settle(first, endMs, first.task.toMs, moved);
    forward(chain, 0, moved);
  }
}

/** Gives a task a start and keeps its end where it was if its limits allow. */
function settle(link: Link, fromMs: number, wishedEndMs: number, moved: Map<string, Moved>): void {
  moved.set(link.task.id, { fromMs, toMs: clamp(wishedEndMs, fromMs + link.least, fromMs + link.greatest) });
}

function timesOf(link: Link, moved: ReadonlyMap<string, Moved>): { fromMs: number; toMs: number } {
  return moved.get(link.task.id) ?? link.task;
}

function forward(chain: readonly Link[], at: number, moved: Map<string, Moved>): void {
  for (let i = at + 1; i < chain.length; i++) {
    const before = chain[i - 1]!;
    const link = chain[i]!;
    if (FIXED.has(link.task.task.does)) return;
    const endMs = timesOf(before, moved).toMs;
    const startMs = clamp(link.task.fromMs, endMs + before.waitLeast, endMs + before.waitGreatest);
    const isLast = i === chain.length - 1;
    if (startMs === link.task.fromMs) return;
    const wished = isLast ? startMs + link.task.toMs - link.task.fromMs : link.task.toMs;
    settle(link, startMs, wished, moved);
  }
}

function backward(chain: readonly Link[], at: number, moved: Map<string, Moved>): void {
  for (let i = at - 1; i >= 0; i--) {
    const after = chain[i + 1]!;
    const link = chain[i]!;
    if (FIXED.has(link.task.task.does)) return;
    const startMs = timesOf(after, moved).fromMs;
    const endMs = clamp(link.task.toMs, startMs - link.waitGreatest, startMs - link.waitLeast);
    if (endMs === link.task.toMs) return;
    const fromMs = clamp(link.task.fromMs, endMs - link.greatest, endMs - link.least);
    moved.set(link.task.id, { fromMs, toMs: endMs });
  }
}

/** The instants of a timetable with a moved load's tasks in place; documents are never changed. */
export function withMoves(timetable: Timetable, tasks: readonly Task[]): Timetable {
  const replaced = new Map(tasks.map((task) => [task.id, task]));
  return { ...timetable, tasks: timetable.tasks.map((task) => replaced.get(task.id) ?? task) };
}
