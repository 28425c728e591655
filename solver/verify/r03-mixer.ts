import { busyOn, checkCleaning, cleansOn, type Soiling, unitOf } from "./cleaning.js";
import { allergensOf, clockText, type Facts, isAt, mixerAt, tasksThat } from "./facts.js";
import { grouped, overlaps } from "./sweep.js";
import { slowMinutes } from "./told.js";

/** R3: a mixer does one batch at a time, for its dough's minutes, and is cleaned where needed. */
export function checkMixers(facts: Facts): void {
  const { report } = facts;
  const mixes = tasksThat(facts, "mix");
  for (const fact of mixes) {
    const batch = facts.batches.get(fact.task.batch ?? "");
    const dough = facts.doughs.get(batch?.dough ?? "");
    if (!batch || !dough) continue;
    const minutes = fact.end - fact.start;
    const wanted = slowMinutes(facts.day, fact.task.unit, dough.mixMinutes);
    if (minutes !== wanted)
      report.add(
        "R3",
        "mix-minutes",
        `${fact.task.id} lasts ${minutes} min, ${dough.id} dough is mixed for ${wanted}`,
        [fact.task.id],
      );
    if (fact.task.site !== batch.site || !isAt(facts, fact.task.unit, batch.site))
      report.add("R3", "wrong-site", `batch ${batch.id} belongs to ${batch.site}, its mix is elsewhere`, [
        fact.task.id,
      ]);
  }
  for (const [unit, onUnit] of grouped(mixes, unitOf)) {
    for (const [a, b] of overlaps(busyOn(onUnit, cleansOn(facts, unit)))) {
      report.add(
        "R3",
        "mixer-overlap",
        `${unit} is used by ${a.id} and ${b.id} at once, at ${clockText(b.from)}`,
        [a.id, b.id],
        { unit },
      );
    }
    const uses: Soiling[] = [];
    for (const fact of onUnit) {
      const dough = facts.doughs.get(facts.batches.get(fact.task.batch ?? "")?.dough ?? "");
      if (dough) uses.push({ fact, allergens: allergensOf(facts, dough), lyePercent: 0 });
    }
    checkCleaning(facts, "R3", unit, mixerAt(facts, unit)?.cleaningMinutes ?? 0, uses);
  }
}
