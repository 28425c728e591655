import type { BakeStep, StandingStep, Step } from "../../schemas/index.js";
import { clockText, deckAt, type Facts, kettleAt, type LoadFact, type TaskFact } from "./facts.js";
import { boilMinutesOf } from "./kettle-sums.js";
import { instantSeconds, whenMinute } from "./time.js";
import { slowMinutes } from "./told.js";
import { leastProof } from "./yeast.js";

const INTERRUPT_MINUTES = 5;
const NO_WAIT = { leastMinutes: 0, greatestMinutes: 0 };

/** Minutes that a worked step must last (D4, D11, D13); null when its unit is unknown and another rule says so. */
function workedMinutes(facts: Facts, load: LoadFact, step: Step, fact: TaskFact): number | null {
  const minutes = usualMinutes(facts, load, step, fact);
  return minutes === null ? null : slowMinutes(facts.day, fact.task.unit, minutes);
}

function usualMinutes(facts: Facts, load: LoadFact, step: Step, fact: TaskFact): number | null {
  if (step.does === "boil") {
    const kettle = kettleAt(facts, fact.task.unit);
    return kettle ? boilMinutesOf(kettle, step, load.product, load.dough, load.load.pieces) : null;
  }
  if (step.does === "bake") {
    const found = deckAt(facts, fact.task.unit);
    return found ? step.minutes + found.deck.doorRecoveryMinutes : null;
  }
  if (!("skill" in step)) return null;
  const seconds = load.load.pieces * (step.secondsPerPiece ?? 0) + load.load.pans * (step.secondsPerPan ?? 0);
  return Math.max(1, Math.ceil((step.fixedMinutes ?? 0) + seconds / 60 - 1e-9));
}

/** The site at which a step of a load belongs (D5). */
function siteOf(load: LoadFact, step: Step, shaped: boolean): string {
  const { handOver, bakedAt } = load.load;
  const mixed = load.batch.site;
  if (handOver === "tubs") return step.does === "rest" ? mixed : bakedAt;
  if (handOver === "pans") return !shaped || step.does === "shape" ? mixed : bakedAt;
  return bakedAt;
}

/** Two ways of computing a proof differ by less, minutes. */
const PROOF_SLACK = 0.1;

/** Least minutes of a proof where it stands; the step's own when the proofer is unknown, which another rule says. */
function proofLeast(facts: Facts, step: StandingStep, fact: TaskFact): number {
  const unit = fact.task.places?.[0]?.unit;
  if (unit === undefined) return step.leastMinutes;
  const { site, proofer } = facts.units.at(unit);
  return site && proofer ? leastProof(step, site.roomTempC, proofer.tempC) : step.leastMinutes;
}

/** Of the step that so many tasks of a load from one on are. */
function checkDuration(facts: Facts, load: LoadFact, step: Step, at: number, count: number): void {
  const first = load.tasks[at]!;
  const fact = load.tasks[at + count - 1]!;
  let minutes = 0;
  for (let i = at; i < at + count; i++) minutes = minutes + load.tasks[i]!.end - load.tasks[i]!.start;
  const id = fact.task.id;
  const cut = load.load.scrapped ? instantSeconds(load.load.scrapped.at) / 60 : Number.NaN;
  if (fact.end === cut) return;
  if (step.does === "bake" && count === 2) checkInterrupted(facts, step, first, fact);
  if ("leastMinutes" in step) {
    if (step.does === "retard") return;
    const least = step.does === "proof" ? proofLeast(facts, step, fact) : step.leastMinutes;
    if (minutes < least - PROOF_SLACK)
      facts.report.add("R6", "too-short", `${id} lasts ${minutes} min, at least ${Math.ceil(least - PROOF_SLACK)}`, [
        id,
      ]);
    if (minutes > stretchedLimit(facts, first, step.greatestMinutes))
      facts.report.add("R6", "too-long", `${id} lasts ${minutes} min, at most ${step.greatestMinutes}`, [id]);
    return;
  }
  const wanted = workedMinutes(facts, load, step, fact);
  // Nothing takes less than a minute, so the rest of a bake that was all but done may be one too many.
  const isLeast = count === 2 && fact.end - fact.start === 1 && minutes - 1 >= (wanted ?? 0);
  if (wanted !== null && minutes !== wanted && !isLeast)
    facts.report.add(
      "R6",
      "step-minutes",
      `${id} lasts ${minutes} min, its ${load.load.pieces} pieces take ${wanted}`,
      [id],
    );
}

/** D21: what stands when the report comes may stand until then, or until what follows can start as told, even if that is too long. */
export function stretchedLimit(facts: Facts, first: TaskFact, greatest: number): number {
  if (facts.at === null || !facts.begun.has(first.task.id)) return greatest;
  return Math.max(greatest, facts.at - first.start, waitsAfter(facts, first) - first.start);
}

/** Until when the step that follows a stay was told to wait. */
function waitsAfter({ waiting, loadsById }: Facts, { task: { id, does, load } }: TaskFact): number {
  if (waiting.size === 0) return Number.NEGATIVE_INFINITY;
  const tasks = loadsById.get(load ?? "")?.tasks ?? [];
  const at = tasks.findIndex(({ task }) => task.id === id);
  const next = tasks.find(({ task }, i) => i > at && task.does !== does && task.does !== "van");
  return waiting.get(next?.task.id ?? "") ?? Number.NEGATIVE_INFINITY;
}

/** D21: after work that has begun the next may begin at the instant, when it was planned to, or when it was told that it can. */
function stretchedWait(facts: Facts, before: TaskFact, next: TaskFact, greatest: number): number {
  if (facts.at === null || !facts.begun.has(before.task.id) || facts.begun.has(next.task.id)) return greatest;
  const planned = facts.before.get(next.task.id);
  const told = facts.waiting.get(next.task.id) ?? facts.at;
  const until = Math.max(facts.at, told, planned ? instantSeconds(planned.start) / 60 : facts.at);
  return Math.max(greatest, until - before.end);
}

/** D21: the rest of a bake may be done on another deck only when its deck failed, and soon. */
function checkInterrupted(facts: Facts, step: BakeStep, first: TaskFact, rest: TaskFact): void {
  const ids = [first.task.id, rest.task.id];
  if (step.ifInterrupted !== "finish-elsewhere" || !failsAt(facts, first.task.unit, first.end))
    facts.report.add(
      "R6",
      "bake-split",
      `${ids[0]} is split, but its deck did not fail or the route does not allow it`,
      ids,
    );
  const gap = rest.start - first.end;
  if (gap < 0 || gap > (step.interruptMinutes ?? INTERRUPT_MINUTES))
    facts.report.add("R6", "interrupted-too-long", `${ids[1]} goes on ${gap} min after its deck failed`, ids);
}

function failsAt(facts: Facts, unit: string | undefined, minute: number): boolean {
  return facts.day.happenings.happenings.some((happening) => {
    if (happening.kind !== "out-of-service" || unit === undefined) return false;
    const zone = facts.sites.get(happening.unit.split("/")[0]!)?.timeZone ?? "UTC";
    const isOf = unit === happening.unit || unit.startsWith(`${happening.unit}/`);
    return isOf && whenMinute(happening.from, zone) === minute;
  });
}

/** Is a task named as a part of another? */
function isNamed({ task: { id } }: TaskFact, { task }: TaskFact, ending: string): boolean {
  return id.length === task.id.length + ending.length && id.endsWith(ending) && id.startsWith(task.id);
}

/** How many tasks from one on are parts of the same step: items carried to other positions, the rest of a bake. */
function partsFrom(facts: Facts, tasks: readonly TaskFact[], at: number): number {
  const first = tasks[at]!;
  let last = first;
  let count = 1;
  for (let i = at + 1; i < tasks.length; i++) {
    const next = tasks[i]!;
    const carried = isNamed(next, last, "-carried");
    const second = first.task.does === "bake" && isNamed(next, first, "-2");
    if (!carried && !second) break;
    if (carried && next.start !== last.end)
      facts.report.add("R6", "gap", `${next.task.id} does not start when ${last.task.id} ends`, [next.task.id]);
    if (carried && !facts.begun.has(last.task.id))
      facts.report.add("R6", "carried", `${next.task.id}: only what stands already is carried`, [next.task.id]);
    last = next;
    count++;
  }
  return count;
}

/** How many tasks from one on are a retard with a ride: retard, van, retard, with no gap. None: it is something else. */
function retardRideFrom(facts: Facts, load: LoadFact, at: number): number {
  const { tasks } = load;
  if (tasks[at]?.task.does !== "retard") return 0;
  const before = partsFrom(facts, tasks, at);
  const first = tasks[at + before - 1]!;
  const van = tasks[at + before];
  const second = tasks[at + before + 1];
  if (van?.task.does !== "van" || second?.task.does !== "retard") return load.load.scrapped ? before : 0;
  const there = partsFrom(facts, tasks, at + before + 1);
  checkNoGap(facts, first, van);
  checkNoGap(facts, van, second);
  checkSite(facts, first, load.batch.site);
  checkSite(facts, second, load.load.bakedAt);
  return before + 1 + there;
}

function checkNoGap({ report }: Facts, a: TaskFact, b: TaskFact): void {
  if (a.end !== b.start)
    report.add(
      "R6",
      "gap",
      `${b.task.id} starts ${b.start - a.end} min after ${a.task.id} ends, there must be no gap`,
      [a.task.id, b.task.id],
    );
}

function checkSite({ report }: Facts, { task }: TaskFact, site: string): void {
  if (task.site !== site)
    report.add("R6", "wrong-site", `${task.id} is at ${task.site}, it belongs at ${site}`, [task.id]);
}

/** How many tasks from one on are a step of a load's route; none: the step is not there. */
function stepFrom(facts: Facts, load: LoadFact, step: Step, rides: boolean, at: number): number {
  if (rides) return retardRideFrom(facts, load, at);
  return load.tasks[at]?.task.does === step.does ? partsFrom(facts, load.tasks, at) : 0;
}

function checkChain(facts: Facts, load: LoadFact): void {
  const { report } = facts;
  const { tasks } = load;
  const { handOver } = load.load;
  let at = 0;
  if (!load.mix) {
    report.add(
      "R6",
      "not-mixed",
      `load ${load.load.id} has no mix`,
      load.tasks.map(({ task }) => task.id),
    );
    return;
  }
  if (handOver !== "tubs" && handOver !== "pans" && load.batch.site !== load.load.bakedAt) {
    report.add(
      "R6",
      "wrong-site",
      `load ${load.load.id} is mixed at ${load.batch.site} and baked at ${load.load.bakedAt} without a chilled hand-over`,
    );
  }
  if (handOver !== undefined && !(load.route.handOvers ?? []).includes(handOver))
    report.add("R6", "hand-over", `route ${load.route.id} allows no hand-over as ${handOver}`);
  if (handOver !== "baked" && load.load.bakedAt !== load.load.deliveredTo)
    report.add(
      "R6",
      "not-delivered",
      `load ${load.load.id} is baked at ${load.load.bakedAt} and wanted at ${load.load.deliveredTo}, but does not ride`,
    );
  let before = load.mix;
  let wait = NO_WAIT;
  let shaped = false;
  for (const step of load.route.steps) {
    if (step.does === "shape") shaped = true;
    const rides = step.does === "retard" && (handOver === "tubs" || handOver === "pans");
    const count = stepFrom(facts, load, step, rides, at);
    if (count === 0 && load.load.scrapped) break;
    const first = tasks[at];
    if (count === 0 || !first) {
      report.add(
        "R6",
        "step-missing",
        `load ${load.load.id}: expected ${step.does} after ${before.task.id}, found ${first?.task.id ?? "nothing"}`,
        first ? [first.task.id] : [before.task.id],
      );
      return;
    }
    const gap = first.start - before.end;
    if (gap < wait.leastMinutes || gap > stretchedWait(facts, before, first, wait.greatestMinutes)) {
      report.add(
        "R6",
        "wait",
        `${first.task.id} starts ${gap} min after ${before.task.id} ends (${clockText(before.end)}), it must be ${wait.leastMinutes} to ${wait.greatestMinutes}`,
        [before.task.id, first.task.id],
      );
    }
    checkDuration(facts, load, step, at, count);
    if (!rides) checkSite(facts, first, siteOf(load, step, shaped));
    at += count;
    before = tasks[at - 1]!;
    wait = "waitAfter" in step && step.waitAfter ? step.waitAfter : NO_WAIT;
  }
  if (handOver === "baked" && !load.load.scrapped) {
    const van = tasks[at++];
    if (van?.task.does !== "van")
      report.add("R12", "no-ride", `load ${load.load.id} is to ride baked, but has no van task`, [before.task.id]);
    else if (van.start < before.end)
      report.add(
        "R12",
        "not-ready",
        `${van.task.id} loads at ${clockText(van.start)}, the load is ready at ${clockText(before.end)}`,
        [before.task.id, van.task.id],
      );
  }
  for (; at < tasks.length; at++) {
    const { id } = tasks[at]!.task;
    report.add("R6", "extra-task", `${id} is not a step of the load's route`, [id]);
  }
}

/** R6: every step of the route is there, lasts what it must, and follows the one before within its waits. */
export function checkWaits(facts: Facts): void {
  for (const load of facts.loads) checkChain(facts, load);
}
