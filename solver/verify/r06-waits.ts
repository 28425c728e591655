import type { Step } from "../../schemas/index.js";
import { clockText, type Facts, kettleAt, type LoadFact, ovenAt, type TaskFact } from "./facts.js";
import { boilMinutesOf } from "./kettle-sums.js";

const NO_WAIT = { leastMinutes: 0, greatestMinutes: 0 };

/** Minutes that a worked step must last (D4, D11, D13); null when its unit is unknown and another rule says so. */
function workedMinutes(facts: Facts, load: LoadFact, step: Step, fact: TaskFact): number | null {
  if (step.does === "boil") {
    const kettle = kettleAt(facts, fact.task.unit);
    return kettle ? boilMinutesOf(kettle, step, load.product, load.dough, load.load.pieces) : null;
  }
  if (step.does === "bake") {
    const oven = ovenAt(facts, fact.task.unit);
    return oven ? step.minutes + oven.oven.decks[oven.deckIndex]!.doorRecoveryMinutes : null;
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

function checkDuration(facts: Facts, load: LoadFact, step: Step, fact: TaskFact): void {
  const minutes = fact.end - fact.start;
  const id = fact.task.id;
  if ("leastMinutes" in step) {
    if (step.does === "retard") return;
    if (minutes < step.leastMinutes)
      facts.report.add("R6", "too-short", `${id} lasts ${minutes} min, at least ${step.leastMinutes}`, [id]);
    if (minutes > step.greatestMinutes)
      facts.report.add("R6", "too-long", `${id} lasts ${minutes} min, at most ${step.greatestMinutes}`, [id]);
    return;
  }
  const wanted = workedMinutes(facts, load, step, fact);
  if (wanted !== null && minutes !== wanted)
    facts.report.add(
      "R6",
      "step-minutes",
      `${id} lasts ${minutes} min, its ${load.load.pieces} pieces take ${wanted}`,
      [id],
    );
}

/** The tasks of a retard with a ride: retard, van, retard, with no gap. */
function retardRide(facts: Facts, load: LoadFact, rest: TaskFact[]): TaskFact[] | null {
  const [first, van, second] = rest;
  if (first?.task.does !== "retard" || van?.task.does !== "van" || second?.task.does !== "retard") return null;
  for (const [a, b] of [
    [first, van],
    [van, second],
  ] as const) {
    if (a.end !== b.start)
      facts.report.add(
        "R6",
        "gap",
        `${b.task.id} starts ${b.start - a.end} min after ${a.task.id} ends, there must be no gap`,
        [a.task.id, b.task.id],
      );
  }
  const sites: [TaskFact, string][] = [
    [first, load.batch.site],
    [second, load.load.bakedAt],
  ];
  for (const [fact, site] of sites)
    if (fact.task.site !== site)
      facts.report.add("R6", "wrong-site", `${fact.task.id} is at ${fact.task.site}, it belongs at ${site}`, [
        fact.task.id,
      ]);
  return [first, van, second];
}

function checkChain(facts: Facts, load: LoadFact): void {
  const { report } = facts;
  const { handOver } = load.load;
  const rest = [...load.tasks];
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
    const taken = rides ? retardRide(facts, load, rest) : rest[0]?.task.does === step.does ? [rest[0]] : null;
    if (!taken) {
      report.add(
        "R6",
        "step-missing",
        `load ${load.load.id}: expected ${step.does} after ${before.task.id}, found ${rest[0]?.task.id ?? "nothing"}`,
        rest[0] ? [rest[0].task.id] : [before.task.id],
      );
      return;
    }
    rest.splice(0, taken.length);
    const first = taken[0]!;
    const gap = first.start - before.end;
    if (gap < wait.leastMinutes || gap > wait.greatestMinutes) {
      report.add(
        "R6",
        "wait",
        `${first.task.id} starts ${gap} min after ${before.task.id} ends (${clockText(before.end)}), it must be ${wait.leastMinutes} to ${wait.greatestMinutes}`,
        [before.task.id, first.task.id],
      );
    }
    checkDuration(facts, load, step, first);
    const site = siteOf(load, step, shaped);
    if (!rides && first.task.site !== site)
      report.add("R6", "wrong-site", `${first.task.id} is at ${first.task.site}, it belongs at ${site}`, [
        first.task.id,
      ]);
    before = taken[taken.length - 1]!;
    wait = "waitAfter" in step && step.waitAfter ? step.waitAfter : NO_WAIT;
  }
  if (handOver === "baked") {
    const van = rest.shift();
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
  for (const { task } of rest)
    report.add("R6", "extra-task", `${task.id} is not a step of the load's route`, [task.id]);
}

/** R6: every step of the route is there, lasts what it must, and follows the one before within its waits. */
export function checkWaits(facts: Facts): void {
  for (const load of facts.loads) checkChain(facts, load);
}
