import { type Carry, carriesOf } from "./carries.js";
import { MINUTE, msOf } from "./clock.js";
import { type Plan, type PlannedTask, whereOf } from "./plan.js";

/** A task that is elsewhere in time or place. */
export interface TaskChange {
  readonly before: PlannedTask;
  readonly after: PlannedTask;
  readonly byMinutes: number;
  /** Only when it is another. */
  readonly whereBefore?: string;
  readonly whereAfter?: string;
  /** It is what goes on elsewhere of something that was begun: `before` is what is left of that, in the new timetable. */
  readonly carry?: Carry;
}

/** All that changes for one load, or for one mix. */
export interface LoadChange {
  readonly id: string;
  readonly kind: "moved" | "gone" | "scrapped" | "new" | "pieces";
  readonly what: string;
  /** The first instant, before or after, at which somebody does something else. */
  readonly firstMs: number;
  readonly site: string;
  readonly tasks: readonly TaskChange[];
  readonly pieces?: { readonly before: number; readonly after: number };
}

export interface OrderChange {
  readonly line: string;
  readonly before: string;
  readonly after: string;
  readonly isWorse: boolean;
}

export interface ChangeList {
  readonly loads: readonly LoadChange[];
  readonly orders: readonly OrderChange[];
  readonly costBefore: number;
  readonly costAfter: number;
}

/** Steps at which somebody has to do something; the standing ones follow from them. */
const DONE_BY_HAND = new Set(["mix", "shape", "boil", "top", "bake", "pack", "van", "clean"]);

function taskChange(before: Plan, after: Plan, was: PlannedTask, is: PlannedTask): TaskChange | undefined {
  const byMinutes = Math.round((is.fromMs - was.fromMs) / MINUTE);
  const whereWas = whereOf(before, was.task);
  const whereIs = whereOf(after, is.task);
  if (byMinutes === 0 && whereWas === whereIs) return undefined;
  if (!DONE_BY_HAND.has(is.task.does) && whereWas === whereIs) return undefined;
  return {
    before: was,
    after: is,
    byMinutes,
    ...(whereWas === whereIs ? {} : { whereBefore: whereWas, whereAfter: whereIs }),
  };
}

/** What is to be carried by the new timetable, and was not by the old one. */
function carriedNow(before: Plan, after: Plan, load: string): TaskChange[] {
  const carries = carriesOf(after);
  return (after.byLoad.get(load) ?? []).flatMap((task): TaskChange[] => {
    const carry = carries.get(task.id);
    if (carry?.rest !== task || before.byId.has(task.id)) return [];
    const byMinutes = Math.round((task.fromMs - carry.first.toMs) / MINUTE);
    return [{ before: carry.first, after: task, byMinutes, carry }];
  });
}

/** So many pieces of what. */
export function loadName(plan: Plan, id: string): string {
  const load = plan.loads.get(id);
  return load ? `${load.pieces} ${plan.products.get(load.product)?.name ?? load.product}` : id;
}

function siteOf(plan: Plan, id: string): string {
  return plan.loads.get(id)?.bakedAt ?? "";
}

/** What differs between the timetable in force and another for the same day, the soonest first. */
export function changesBetween(before: Plan, after: Plan): ChangeList {
  const loads: LoadChange[] = [];
  for (const [id, load] of before.loads) {
    const now = after.loads.get(id);
    const was = before.byLoad.get(id) ?? [];
    const firstMs = was[0]?.fromMs ?? 0;
    if (!now) {
      loads.push({ id, kind: "gone", what: loadName(before, id), firstMs, site: siteOf(before, id), tasks: [] });
      continue;
    }
    const carried = carriedNow(before, after, id);
    const tasks = [
      ...carried,
      ...was.flatMap((task) => {
        const other = after.byId.get(task.id);
        const change = other ? taskChange(before, after, task, other) : undefined;
        return change ? [change] : [];
      }),
    ];
    if (now.scrapped && !load.scrapped) {
      const atMs = msOf(now.scrapped.at);
      loads.push({ id, kind: "scrapped", what: loadName(before, id), firstMs: atMs, site: siteOf(after, id), tasks });
      continue;
    }
    const pieces = load.pieces === now.pieces ? undefined : { before: load.pieces, after: now.pieces };
    if (tasks.length === 0 && !pieces) continue;
    const times = tasks.flatMap(({ before: from, after: to, carry }) => [carry ? from.toMs : from.fromMs, to.fromMs]);
    loads.push({
      id,
      kind: pieces ? "pieces" : "moved",
      what: loadName(after, id),
      firstMs: times.length > 0 ? Math.min(...times) : firstMs,
      site: siteOf(after, id),
      tasks,
      ...(pieces ? { pieces } : {}),
    });
  }
  for (const id of after.loads.keys()) {
    if (before.loads.has(id)) continue;
    const firstMs = after.byLoad.get(id)?.[0]?.fromMs ?? 0;
    loads.push({ id, kind: "new", what: loadName(after, id), firstMs, site: siteOf(after, id), tasks: [] });
  }
  loads.push(...mixChanges(before, after));
  loads.sort((a, b) => a.firstMs - b.firstMs || a.id.localeCompare(b.id));
  return {
    loads,
    orders: orderChanges(before, after),
    costBefore: before.timetable.cost.total,
    costAfter: after.timetable.cost.total,
  };
}

function mixChanges(before: Plan, after: Plan): LoadChange[] {
  const found: LoadChange[] = [];
  for (const [batch, was] of before.mixOf) {
    const is = after.mixOf.get(batch);
    const name = before.doughNames.get(was.batch?.dough ?? "") ?? batch;
    if (!is) {
      found.push({ id: batch, kind: "gone", what: `Mix of ${name}`, firstMs: was.fromMs, site: was.site, tasks: [] });
      continue;
    }
    const change = taskChange(before, after, was, is);
    if (change)
      found.push({
        id: batch,
        kind: "moved",
        what: `Mix of ${name}`,
        firstMs: Math.min(was.fromMs, is.fromMs),
        site: is.site,
        tasks: [change],
      });
  }
  for (const [batch, is] of after.mixOf)
    if (!before.mixOf.has(batch))
      found.push({
        id: batch,
        kind: "new",
        what: `Mix of ${after.doughNames.get(is.batch?.dough ?? "") ?? batch}`,
        firstMs: is.fromMs,
        site: is.site,
        tasks: [],
      });
  return found;
}

function stateText(plan: Plan, line: string): { text: string; weight: number } {
  const outcome = plan.outcomes.get(line);
  if (!outcome) return { text: "not ordered", weight: 0 };
  const parts: string[] = [];
  if (outcome.lateMinutes > 0) parts.push(`${outcome.lateMinutes} min late`);
  if (outcome.shortPieces > 0) parts.push(`${outcome.shortPieces} pieces short`);
  return {
    text: parts.length === 0 ? "on time" : parts.join(", "),
    weight: outcome.shortPieces * 10_000 + outcome.lateMinutes,
  };
}

/** Orders that fare otherwise than before: whom to tell. */
function orderChanges(before: Plan, after: Plan): OrderChange[] {
  const found: OrderChange[] = [];
  for (const line of new Set([...before.outcomes.keys(), ...after.outcomes.keys()])) {
    const was = stateText(before, line);
    const is = stateText(after, line);
    if (was.text !== is.text) found.push({ line, before: was.text, after: is.text, isWorse: is.weight > was.weight });
  }
  return found.sort((a, b) => Number(b.isWorse) - Number(a.isWorse) || a.line.localeCompare(b.line));
}
