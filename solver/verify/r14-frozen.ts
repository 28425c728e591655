import type { Batch, Load, Place, Task, Timetable } from "../../schemas/index.js";
import { firstById } from "./by-id.js";
import { clockText, type Facts } from "./facts.js";
import { isGivenUp } from "./given-up.js";
import { inForceFacts } from "./in-force.js";
import { instantSeconds, whenMinute } from "./time.js";

function placesText(task: Task): string {
  return JSON.stringify(
    [...(task.places ?? [])].map(({ item, unit, position }) => `${item} ${unit} ${position}`).sort(),
  );
}

function samePlaces(a: Task, b: Task): boolean {
  if (a.places === b.places) return true;
  return areInOrder(a.places ?? [], b.places ?? []) || placesText(a) === placesText(b);
}

function areInOrder(places: readonly Place[], others: readonly Place[]): boolean {
  if (places.length !== others.length) return false;
  for (let i = 0; i < places.length; i++) {
    const place = places[i]!;
    const other = others[i]!;
    if (place.item !== other.item || place.unit !== other.unit || place.position !== other.position) return false;
  }
  return true;
}

function sameCrew(a: Task, b: Task): boolean {
  if (a.crew === b.crew) return true;
  return a.crew?.group === b.crew?.group && a.crew?.heads === b.crew?.heads && a.crew?.minutes === b.crew?.minutes;
}

/** Compares what batches and loads are made of before and after, each once; of two with one id the first counts. */
class MakeUp {
  private readonly sameLoads = new Map<string, boolean>();
  private readonly batches: readonly [ReadonlyMap<string, Batch>, ReadonlyMap<string, Batch>];
  private readonly loads: readonly [ReadonlyMap<string, Load>, ReadonlyMap<string, Load>];

  constructor(before: Timetable, after: Timetable) {
    const inForce = inForceFacts(before);
    this.batches = [inForce.batches, firstById(after.batches)];
    this.loads = [inForce.loads, firstById(after.loads)];
  }

  /** Whose make-up is another; null when it is the same. */
  changedOf({ batch, load }: Task): string | null {
    if (batch !== undefined) return this.isSameBatch(batch) ? null : `batch ${batch}`;
    if (load === undefined) return null;
    let isSame = this.sameLoads.get(load);
    if (isSame === undefined) {
      isSame = this.isSameLoad(load);
      this.sameLoads.set(load, isSame);
    }
    return isSame ? null : `load ${load}`;
  }

  private isSameBatch(id: string): boolean {
    const old = this.batches[0].get(id);
    const now = this.batches[1].get(id);
    return old !== undefined && now !== undefined && old.dough === now.dough && old.site === now.site;
  }

  private isSameLoad(id: string): boolean {
    const old = this.loads[0].get(id);
    const now = this.loads[1].get(id);
    return old !== undefined && now !== undefined && areMadeAlike(old, now);
  }
}

function areMadeAlike(a: Load, b: Load): boolean {
  if (a.product !== b.product || a.pieces !== b.pieces || a.pans !== b.pans || a.batch !== b.batch) return false;
  if (a.tubs.length !== b.tubs.length) return false;
  for (let i = 0; i < a.tubs.length; i++)
    if (a.tubs[i]!.id !== b.tubs[i]!.id || a.tubs[i]!.doughG !== b.tubs[i]!.doughG) return false;
  return true;
}

function minuteText(instant: string): number {
  return instantSeconds(instant) / 60;
}

/** D21: what has begun is there, at its real times, on its unit and in its places; and nothing else is planned for the past. */
export function checkBegun(facts: Facts): void {
  const { day, timetable, report, at, begun, before } = facts;
  if (at === null || !day.inForce) return;
  const now = facts.tasksById;
  const scrappedAt = new Map<string, number>();
  for (const { id, scrapped } of timetable.loads) if (scrapped) scrappedAt.set(id, minuteText(scrapped.at));
  const makeUp = new MakeUp(day.inForce, timetable);
  for (const [id, fact] of begun) {
    const task = before.get(id)!;
    const there = now.get(id);
    const gone = task.load === undefined ? undefined : scrappedAt.get(task.load);
    if (!there) {
      if (gone !== undefined && fact.start > gone) continue;
      report.add("R14", "begun-gone", `${id} has begun at ${clockText(fact.start)}, but is gone`, [id]);
      continue;
    }
    const changed: string[] = [];
    if (there.start !== fact.start) changed.push("start");
    if (
      fact.end !== null &&
      gone === undefined &&
      there.end !== (isSplit(facts, id) ? (fact.failsAt ?? fact.end) : fact.end) &&
      !isCutMix(task, fact)
    )
      changed.push("end");
    if (task.unit !== there.task.unit || task.site !== there.task.site) changed.push("unit");
    if (!samePlaces(task, there.task)) changed.push("places");
    if (!sameCrew(task, there.task)) changed.push("crew");
    if (changed.length > 0)
      report.add("R14", "begun-moved", `${id} has begun, but has another ${changed.join(", ")} than it really has`, [
        id,
      ]);
    const changedMakeUp = makeUp.changedOf(task);
    if (changedMakeUp)
      report.add("R14", "begun-changed", `${changedMakeUp} has begun, but has another make-up than before`, [id]);
    checkFailed(facts, task, fact, gone);
  }
  for (const { task, start } of facts.tasks) {
    if (start >= at || begun.has(task.id)) continue;
    const carried = task.id.endsWith("-carried") || (task.does === "bake" && task.id.endsWith("-2"));
    const clean = facts.before.get(task.id);
    if (task.does === "clean" && clean && clean.unit === task.unit && minuteText(clean.start) === start) continue;
    if (standsSince(facts, task, start)) continue;
    report.add(
      "R14",
      "in-the-past",
      `${task.id} starts at ${clockText(start)}, before ${clockText(at)}, but has not begun${carried ? " elsewhere" : ""}`,
      [task.id],
    );
  }
  checkSpoiled(facts, scrappedAt);
}

/** Dough whose next step stands has been standing since the work before it ended, whatever was planned to follow. */
function standsSince(facts: Facts, task: Task, start: number): boolean {
  if (!["rest", "retard", "temper", "proof", "cool"].includes(task.does)) return false;
  const load = facts.loadsById.get(task.load ?? "");
  const before = [...(load?.tasks ?? []), ...(load?.mix ? [load.mix] : [])];
  return before.some((other) => other.end === start && facts.begun.has(other.task.id));
}

function isSplit(facts: Facts, id: string): boolean {
  return facts.tasksById.get(`${id}-2`)?.task.does === "bake";
}

function isCutMix(task: Task, fact: { failsAt: number | null }): boolean {
  return task.does === "mix" && fact.failsAt !== null;
}

/** Work whose unit failed under it does not go on as if nothing had happened. */
function checkFailed(facts: Facts, task: Task, fact: { failsAt: number | null }, gone: number | undefined): void {
  if (fact.failsAt === null || task.does === "shape" || task.does === "top" || task.does === "pack") return;
  const load = facts.loadsById.get(task.load ?? "");
  const bake = load?.way.bake;
  if (task.does === "bake" && bake?.ifInterrupted === "finish-there") return;
  if (task.does === "bake" && bake?.ifInterrupted === "finish-elsewhere" && isSplit(facts, task.id)) return;
  const lost =
    task.does === "mix"
      ? facts.timetable.loads.every((candidate) => candidate.batch !== task.batch || candidate.scrapped)
      : gone !== undefined;
  if (!lost)
    facts.report.add("R14", "goes-on", `${task.unit} failed during ${task.id}: what it held cannot go on`, [task.id]);
}

function checkSpoiled(facts: Facts, scrappedAt: ReadonlyMap<string, number>): void {
  for (const happening of facts.day.happenings.happenings) {
    if (happening.kind !== "spoiled") continue;
    for (const load of facts.loads) {
      if (happening.load !== load.load.id && happening.batch !== load.batch.id) continue;
      // Of a bake that was cut short the last part counts. A load that is named is spoiled even if it is baked.
      const bake = facts.begun.get(load.tasks.findLast(({ task }) => task.does === "bake")?.task.id ?? "");
      const isBaked = bake !== undefined && bake.end !== null && bake.end <= facts.at!;
      const isKept = happening.load === undefined && isBaked;
      const hasBegun = load.mix !== null && facts.begun.has(load.mix.task.id);
      if (hasBegun && !isKept && !scrappedAt.has(load.load.id))
        facts.report.add(
          "R14",
          "spoiled-used",
          `load ${load.load.id} is spoiled, but still in the timetable`,
          load.tasks.map(({ task }) => task.id),
        );
    }
  }
}

/** R14: what the planner holds starts when it is held to, and where. D24. */
export function checkHeld(facts: Facts): void {
  const { happenings } = facts.day.happenings;
  for (const [i, happening] of happenings.entries()) {
    if (happening.kind !== "hold" || facts.begun.has(happening.task)) continue;
    if (happenings.some((later, k) => k > i && later.kind === "hold" && later.task === happening.task)) continue;
    const before = facts.before.get(happening.task);
    const zone = facts.sites.get(before?.site ?? "")?.timeZone;
    if (zone === undefined) continue;
    const wanted = whenMinute(happening.start, zone);
    if (isGivenUp(facts, before, happening.unit, wanted)) continue;
    const now = facts.tasksById.get(happening.task);
    if (!now || now.start !== wanted || (happening.unit !== undefined && now.task.unit !== happening.unit))
      facts.report.add(
        "R14",
        "not-held",
        `${happening.task} is to start at ${clockText(wanted)}${happening.unit === undefined ? "" : ` on ${happening.unit}`}, it ${now ? `starts at ${clockText(now.start)} on ${now.task.unit ?? "no unit"}` : "is gone"}`,
        [happening.task],
      );
  }
}

/** R14: what is locked is where and when the timetable in force has it. D20. */
export function checkFrozen(facts: Facts): void {
  const { day, timetable, report } = facts;
  let makeUp: MakeUp | undefined;
  for (const happening of day.happenings.happenings) {
    if (happening.kind !== "lock" || facts.begun.has(happening.task)) continue;
    const before = facts.before.get(happening.task);
    if (before && isGivenUp(facts, before, before.unit, minuteText(before.start))) continue;
    // Given up by the repair that took the task away.
    if (!before && day.inForce?.gone?.includes(happening.task)) continue;
    if (!before || !day.inForce) {
      report.add("R14", "lock-unknown", `the locked task ${happening.task} is not in the timetable in force`, [
        happening.task,
      ]);
      continue;
    }
    const now = facts.tasksById.get(happening.task)?.task;
    if (!now) {
      report.add("R14", "locked-gone", `the locked task ${happening.task} is gone`, [happening.task]);
      continue;
    }
    const moved: string[] = [];
    if (
      instantSeconds(before.start) !== instantSeconds(now.start) ||
      instantSeconds(before.end) !== instantSeconds(now.end)
    )
      moved.push("time");
    if (before.unit !== now.unit || before.site !== now.site) moved.push("unit");
    if (!samePlaces(before, now)) moved.push("places");
    if (!sameCrew(before, now)) moved.push("crew");
    if (moved.length > 0)
      report.add(
        "R14",
        "locked-moved",
        `the locked task ${happening.task} has another ${moved.join(", ")} than before`,
        [happening.task],
      );
    makeUp ??= new MakeUp(day.inForce, timetable);
    const changed = makeUp.changedOf(before);
    if (changed)
      report.add(
        "R14",
        "locked-changed",
        `${changed} of the locked task ${happening.task} has another make-up than before`,
        [happening.task],
      );
  }
}
