import type { CrewGroup, Dough, Site, Step, Task } from "../../schemas/index.js";
import { stepThat } from "./catalogue-facts.js";
import { checkCleaning, type Soiling, unitOf } from "./cleaning.js";
import { crewLine, crewUse } from "./crew-lines.js";
import { allergensOf, clockText, type Facts, type TaskFact } from "./facts.js";
import { grouped, overuses, type Use } from "./sweep.js";

interface Need {
  readonly heads: number;
  readonly skill: string;
  /** From the start; undefined: the whole task. */
  readonly minutes: number | undefined;
}

const needsKnown = new WeakMap<Dough | Step, Need | null>();

/** People that a task needs (D7), or null when it needs nobody. Worked out once of each dough and step. */
function needOf(facts: Facts, { task }: TaskFact): Need | null {
  const of = task.does === "mix" ? doughOf(facts, task) : stepOf(facts, task);
  if (!of) return null;
  let need = needsKnown.get(of);
  if (need === undefined) {
    need = "does" in of ? needOfStep(of) : needOfMix(of);
    needsKnown.set(of, need);
  }
  return need;
}

function doughOf(facts: Facts, task: Task): Dough | undefined {
  return facts.doughs.get(facts.batches.get(task.batch ?? "")?.dough ?? "");
}

function stepOf(facts: Facts, task: Task): Step | undefined {
  const load = task.load === undefined ? undefined : facts.loadsById.get(task.load);
  return load && stepThat(load.route, task.does);
}

function needOfMix({ mixHeads: heads = 1, mixSkill: skill }: Dough): Need | null {
  return heads > 0 ? { heads, skill, minutes: undefined } : null;
}

function needOfStep(step: Step): Need | null {
  if ("leastMinutes" in step) return null;
  if (step.does !== "bake") return { heads: step.heads, skill: step.skill, minutes: undefined };
  const attend = step.attendMinutes ?? 0;
  return attend > 0 && step.heads !== undefined && step.skill !== undefined
    ? { heads: step.heads, skill: step.skill, minutes: attend }
    : null;
}

function groupAt(facts: Facts, site: string, id: string | undefined): CrewGroup | undefined {
  for (const group of facts.sites.get(site)?.crew ?? []) if (group.id === id) return group;
  return undefined;
}

function checkNeed(facts: Facts, fact: TaskFact): void {
  const { report } = facts;
  const { task } = fact;
  const need = needOf(facts, fact);
  if (!need) return;
  const group = groupAt(facts, task.site, task.crew?.group);
  if (!task.crew || !group) {
    report.add("R7", "nobody", `${task.id} needs ${need.heads} with ${need.skill}, nobody of the site is given`, [
      task.id,
    ]);
    return;
  }
  if (!group.skills.includes(need.skill))
    report.add("R7", "no-skill", `${task.id} needs ${need.skill}, ${group.name} does not have it`, [task.id]);
  if (task.crew.heads < need.heads)
    report.add("R7", "too-few", `${task.id} needs ${need.heads}, only ${task.crew.heads} are given`, [task.id]);
  const given = task.crew.minutes ?? fact.end - fact.start;
  if (given < Math.min(need.minutes ?? fact.end - fact.start, fact.end - fact.start))
    report.add("R7", "leaves-early", `${task.id} has people for ${given} min only`, [task.id]);
}

/** `t`: minute of the window. */
function tellCrew(facts: Facts, site: Site, group: CrewGroup, t: number, used: number, there: number): void {
  const at = facts.from + t;
  const busy = facts.tasks.filter(
    ({ task, start, end }) =>
      task.site === site.id &&
      task.crew?.group === group.id &&
      start <= at &&
      at < (task.crew.minutes === undefined ? end : start + task.crew.minutes),
  );
  facts.report.add(
    "R7",
    "crew",
    `${group.name} at ${site.id}: ${used} in use at ${clockText(at)}, ${there} on shift`,
    busy.map(({ task }) => task.id),
  );
}

function checkGroups(facts: Facts): void {
  for (const site of facts.sites.values()) {
    for (const group of site.crew) {
      const used = crewUse(facts, site.id, group.id);
      if (used === null) continue;
      const line = crewLine(facts, site, group);
      for (let t = 0; t < used.length; t++) {
        let there = line.regular[t]!;
        if (used[t]! <= there) continue;
        for (const { heads } of line.overtime) there += heads[t]!;
        if (used[t]! <= there) continue;
        tellCrew(facts, site, group, t, used[t]!, there);
        while (t + 1 < used.length && used[t + 1]! > 0 && used[t + 1] === used[t]) t++;
      }
    }
  }
}

function checkBenches(facts: Facts): void {
  const { report } = facts;
  const work: TaskFact[] = [];
  for (const fact of facts.tasks) {
    const { does } = fact.task;
    if (does === "shape" || does === "top" || does === "pack") work.push(fact);
  }
  for (const { task } of work) {
    const unit = task.unit === undefined ? undefined : facts.units.at(task.unit);
    if (unit?.siteId !== task.site || !unit.bench)
      report.add("R7", "no-bench", `${task.id} is at no bench of its site`, [task.id]);
  }
  for (const [unit, there] of grouped(work, unitOf)) {
    const { bench } = facts.units.at(unit);
    if (!bench) continue;
    const uses: Use[] = [];
    for (const { task, start, end } of there)
      uses.push({ from: start, to: end, amount: task.crew?.heads ?? 1, task: task.id });
    for (const { at, used, tasks } of overuses(uses, bench.places))
      report.add(
        "R7",
        "bench-places",
        `${unit} has ${used} people at ${clockText(at)}, ${bench.places} places`,
        tasks,
        { unit },
      );
    const soilings: Soiling[] = [];
    for (const fact of there) {
      const load = facts.loadsById.get(fact.task.load ?? "");
      if (load) soilings.push({ fact, allergens: allergensOf(facts, load.product), lyePercent: 0 });
    }
    checkCleaning(facts, "R15", unit, bench.cleaningMinutes ?? 0, soilings);
  }
}

/** R7: people and bench places in use never exceed those there; skills and breaks are kept. */
export function checkCrew(facts: Facts): void {
  for (const fact of facts.tasks) checkNeed(facts, fact);
  checkGroups(facts);
  checkBenches(facts);
}
