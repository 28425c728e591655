import { clockText, type Facts, taskOf } from "./facts.js";

/** R16: from the last time out of the cold (or the mix) to the bake, food limited by time stays inside its limit. D18. */
export function checkHolding(facts: Facts): void {
  for (const load of facts.loads) {
    const limit = load.dough.holdingLimit;
    const bake = taskOf(load, "bake");
    if (!limit || !bake || !load.mix) continue;
    const retards = load.tasks.filter(({ task }) => task.does === "retard");
    const out = retards.length > 0 ? retards[retards.length - 1]! : load.mix;
    const minutes = bake.start - out.end;
    if (minutes > limit.warmMinutes) {
      facts.report.add(
        "R16",
        "warm-too-long",
        `load ${load.load.id} is out of the cold from ${clockText(out.end)} for ${minutes} min before it bakes, at most ${limit.warmMinutes} (${limit.label})`,
        [out.task.id, bake.task.id],
      );
    }
  }
}
