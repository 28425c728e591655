import type { Dough } from "../../schemas/index.js";
import { clockText, type Facts, taskOf } from "./facts.js";
import { shelfAt } from "./places.js";

/** The settings' limit that a dough is under. */
export function namedLimit(facts: Facts, dough: Dough) {
  return facts.day.settings.limits?.find(({ id }) => id === dough.limit);
}

/** R16: from the last time out of the cold (or the mix) to the bake, food limited by time stays inside its limits; fridges are cold enough for it. D18. */
export function checkHolding(facts: Facts): void {
  for (const load of facts.loads) {
    const named = namedLimit(facts, load.dough);
    const retards = load.tasks.filter(({ task }) => task.does === "retard");
    for (const { task } of retards) {
      for (const unit of new Set((task.places ?? []).map((place) => place.unit))) {
        const fridge = shelfAt(facts, unit)?.fridge;
        if (fridge && named?.coldAtMostC !== undefined && fridge.airTempC > named.coldAtMostC)
          facts.report.add(
            "R16",
            "fridge-too-warm",
            `${task.id} is in ${unit} at ${fridge.airTempC} C, at most ${named.coldAtMostC} C (${named.jurisdiction}, ${named.source})`,
            [task.id],
            { unit },
          );
      }
    }
    const bake = taskOf(load, "bake");
    if (!bake || !load.mix) continue;
    const out = retards.length > 0 ? retards[retards.length - 1]! : load.mix;
    const minutes = bake.start - out.end;
    const limits = [
      load.dough.holdingLimit,
      named?.warmMinutes === undefined
        ? undefined
        : { warmMinutes: named.warmMinutes, label: `${named.jurisdiction}, ${named.source}` },
    ];
    for (const limit of limits) {
      if (limit && minutes > limit.warmMinutes)
        facts.report.add(
          "R16",
          "warm-too-long",
          `load ${load.load.id} is out of the cold from ${clockText(out.end)} for ${minutes} min before it bakes, at most ${limit.warmMinutes} (${limit.label})`,
          [out.task.id, bake.task.id],
        );
    }
  }
}
