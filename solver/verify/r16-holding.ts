import type { Dough } from "../../schemas/index.js";
import { clockText, type Facts, type LoadFact, type TaskFact, taskOf } from "./facts.js";

/** The settings' limit that a dough is under. */
export function namedLimit(facts: Facts, dough: Dough) {
  if (dough.limit === undefined) return undefined;
  return facts.day.settings.limits?.find(({ id }) => id === dough.limit);
}

type NamedLimit = NonNullable<ReturnType<typeof namedLimit>>;

function lastRetard({ tasks }: LoadFact): TaskFact | undefined {
  let last: TaskFact | undefined;
  for (const fact of tasks) if (fact.task.does === "retard") last = fact;
  return last;
}

/** Fridges are cold enough. */
function checkCold(facts: Facts, { tasks }: LoadFact, limit: NamedLimit): void {
  const { coldAtMostC, jurisdiction, source } = limit;
  if (coldAtMostC === undefined) return;
  for (const { task } of tasks) {
    if (task.does !== "retard") continue;
    for (const unit of new Set((task.places ?? []).map((place) => place.unit))) {
      const { fridge, shelf } = facts.units.at(unit);
      if (fridge && shelf && fridge.airTempC > coldAtMostC)
        facts.report.add(
          "R16",
          "fridge-too-warm",
          `${task.id} is in ${unit} at ${fridge.airTempC} C, at most ${coldAtMostC} C (${jurisdiction}, ${source})`,
          [task.id],
          { unit },
        );
    }
  }
}

/** R16: from the last time out of the cold (or the mix) to the bake, food limited by time stays inside its limits; fridges are cold enough for it. D18. */
export function checkHolding(facts: Facts): void {
  for (const load of facts.loads) {
    const { holdingLimit } = load.dough;
    const named = namedLimit(facts, load.dough);
    if (named) checkCold(facts, load, named);
    if (!holdingLimit && named?.warmMinutes === undefined) continue;
    const bake = taskOf(load, "bake");
    if (!bake || !load.mix) continue;
    const out = lastRetard(load) ?? load.mix;
    const minutes = bake.start - out.end;
    if (holdingLimit && minutes > holdingLimit.warmMinutes)
      tellWarm(facts, load, out, bake, holdingLimit.warmMinutes, holdingLimit.label);
    if (named?.warmMinutes !== undefined && minutes > named.warmMinutes)
      tellWarm(facts, load, out, bake, named.warmMinutes, `${named.jurisdiction}, ${named.source}`);
  }
}

function tellWarm(
  { report }: Facts,
  { load }: LoadFact,
  out: TaskFact,
  bake: TaskFact,
  mostMinutes: number,
  label: string,
): void {
  report.add(
    "R16",
    "warm-too-long",
    `load ${load.id} is out of the cold from ${clockText(out.end)} for ${bake.start - out.end} min before it bakes, at most ${mostMinutes} (${label})`,
    [out.task.id, bake.task.id],
  );
}
