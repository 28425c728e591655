import { busyOn, checkCleaning, cleansOn, type Soiling, unitOf } from "./cleaning.js";
import { allergensOf, clockText, type Facts, isAt, kettleAt, taskOf, tasksThat } from "./facts.js";
import { dipCycle, dipSize, kettleLead } from "./kettle-sums.js";
import { grouped, overlaps } from "./sweep.js";
import { instantSeconds } from "./time.js";

function checkDips(facts: Facts): void {
  const { report } = facts;
  for (const load of facts.loads) {
    const step = load.way.boil;
    const fact = step && taskOf(load, "boil");
    if (!step || !fact) continue;
    const { task } = fact;
    const kettle = kettleAt(facts, task.unit);
    if (!kettle || !isAt(facts, task.unit, task.site)) {
      report.add("R8", "no-kettle", `${task.id} is on no kettle of its site`, [task.id]);
      continue;
    }
    const size = dipSize(kettle, load.product);
    const cycle = dipCycle(kettle, step, load.product, load.dough);
    if (size === null || cycle === null) {
      report.add("R8", "pieces-too-large", `${load.product.name} is too large for ${task.unit}`, [task.id]);
      continue;
    }
    const dips = task.dips ?? [];
    let pieces = 0;
    for (const dip of dips) pieces += dip.pieces;
    if (pieces !== load.load.pieces && !load.load.scrapped)
      report.add("R8", "dip-pieces", `the dips of ${task.id} hold ${pieces} pieces, the load has ${load.load.pieces}`, [
        task.id,
      ]);
    for (let k = 0; k < dips.length; k++) {
      const dip = dips[k]!;
      if (dip.pieces > size)
        report.add(
          "R8",
          "dip-too-full",
          `dip ${k + 1} of ${task.id} holds ${dip.pieces} pieces, ${task.unit} takes ${size}`,
          [task.id],
        );
      const since = instantSeconds(dip.start) - fact.start * 60;
      if (since !== k * cycle)
        report.add(
          "R8",
          "dip-time",
          `dip ${k + 1} of ${task.id} starts ${since} s after the boil begins, with recovery it is ${k * cycle} s`,
          [task.id],
        );
    }
  }
}

interface OnSpan {
  readonly from: number;
  readonly boils: number;
  readonly to: number;
}

function minutesOf(span: { readonly from: string; readonly boilsFrom: string; readonly to: string }): OnSpan {
  return {
    from: instantSeconds(span.from) / 60,
    boils: instantSeconds(span.boilsFrom) / 60,
    to: instantSeconds(span.to) / 60,
  };
}

function isAtTheBoil(on: readonly OnSpan[], start: number, end: number): boolean {
  for (const span of on) if (span.boils <= start && end <= span.to) return true;
  return false;
}

/** R8: hot before the first dip; one load at a time; dip size, dip time and recovery kept. */
export function checkKettles(facts: Facts): void {
  const { report } = facts;
  checkDips(facts);
  const boils = tasksThat(facts, "boil");
  for (const [unit, there] of grouped(boils, unitOf)) {
    const { kettle, site } = facts.units.at(unit);
    if (!kettle || !site) continue;
    for (const [a, b] of overlaps(busyOn(there, cleansOn(facts, unit))))
      report.add(
        "R8",
        "kettle-overlap",
        `${unit} is used by ${a.id} and ${b.id} at once, at ${clockText(b.from)}`,
        [a.id, b.id],
        { unit },
      );
    const program = facts.timetable.kettleProgram.find((entry) => entry.kettle === unit);
    const on = (program?.on ?? []).map(minutesOf);
    const lead = kettleLead(kettle, site);
    for (const span of on) {
      if (span.boils - span.from < lead)
        report.add(
          "R8",
          "heat-up",
          `${unit} is lit at ${clockText(span.from)} and said to boil ${span.boils - span.from} min later, it takes ${lead}`,
          [],
          { unit },
        );
    }
    for (const { task, start, end } of there) {
      if (!isAtTheBoil(on, start, end))
        report.add("R8", "not-hot", `${unit} is not at the boil for ${task.id} at ${clockText(start)}`, [task.id], {
          unit,
        });
    }
    const soilings: Soiling[] = [];
    for (const fact of there) {
      const load = facts.loadsById.get(fact.task.load ?? "");
      const step = load?.way.boil;
      if (load && step)
        soilings.push({ fact, allergens: allergensOf(facts, load.dough), lyePercent: step.lyePercent ?? 0 });
    }
    checkCleaning(facts, "R15", unit, kettle.cleaningMinutes ?? 0, soilings);
  }
}
