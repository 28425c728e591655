import type { CrewGroup, Site } from "../../schemas/index.js";
import type { Facts, TaskFact } from "./facts.js";
import { midnights, wallSpan, whenMinute } from "./time.js";

export interface CrewLine {
  readonly regular: Int32Array;
  /** Overtime heads by rate, cheapest first. */
  readonly overtime: readonly { readonly costPerHour: number; readonly heads: Int32Array }[];
}

const linesKnown = new WeakMap<Facts, Map<CrewGroup, CrewLine>>();

/** Heads of a group by minute of the window (D7), from its shifts, breaks and absences. */
export function crewLine(facts: Facts, site: Site, group: CrewGroup): CrewLine {
  const known = linesKnown.get(facts) ?? new Map<CrewGroup, CrewLine>();
  linesKnown.set(facts, known);
  const line = known.get(group) ?? workOutLine(facts, site, group);
  known.set(group, line);
  return line;
}

function workOutLine(facts: Facts, site: Site, group: CrewGroup): CrewLine {
  const length = facts.to - facts.from;
  const zone = site.timeZone;
  const regular = new Int32Array(length);
  const rates = new Map<number, Int32Array>();
  const add = (line: Int32Array, from: number, to: number, heads: number): void => {
    for (let t = Math.max(from, facts.from); t < Math.min(to, facts.to); t++)
      line[t - facts.from] = line[t - facts.from]! + heads;
  };
  for (const shift of group.shifts) {
    const rate = shift.overtimeCostPerHour;
    let line = rate === undefined ? regular : rates.get(rate);
    if (!line) {
      line = new Int32Array(length);
      rates.set(rate!, line);
    }
    for (const midnight of midnights(shift.days, zone, facts.from, facts.to)) {
      const span = wallSpan(midnight, shift.from, shift.to, zone);
      add(line, span.from, span.to, shift.heads);
      for (const pause of shift.breaks ?? []) {
        const away = wallSpan(midnight + (pause.from < shift.from ? 86_400 : 0), pause.from, pause.to, zone);
        add(line, away.from, away.to, -Math.min(shift.heads, pause.heads ?? shift.heads));
      }
    }
  }
  for (const happening of facts.day.happenings.happenings) {
    if (happening.kind !== "absent" || happening.site !== site.id || happening.crew !== group.id) continue;
    add(regular, whenMinute(happening.from, zone), whenMinute(happening.to, zone), -happening.heads);
  }
  const overtime = [...rates]
    .map(([costPerHour, heads]) => ({ costPerHour, heads }))
    .sort((a, b) => a.costPerHour - b.costPerHour);
  for (let t = 0; t < length; t++) {
    if (regular[t]! >= 0 && overtime.length === 0) continue;
    let missing = Math.max(0, -regular[t]!);
    regular[t] = Math.max(0, regular[t]!);
    for (const { heads } of overtime) {
      heads[t] = Math.max(0, heads[t]!);
      const filled = Math.min(missing, heads[t]!);
      heads[t] = heads[t]! - filled;
      missing -= filled;
    }
  }
  return { regular, overtime };
}

const workKnown = new WeakMap<Facts, ReadonlyMap<string, TaskFact[]>>();

/** Tasks that take people, by site and group. */
function workOf(facts: Facts): ReadonlyMap<string, TaskFact[]> {
  let work = workKnown.get(facts);
  if (!work) {
    work = workAnew(facts);
    workKnown.set(facts, work);
  }
  return work;
}

function workAnew(facts: Facts): Map<string, TaskFact[]> {
  const bySite = new Map<string, Map<string, TaskFact[]>>();
  const work = new Map<string, TaskFact[]>();
  for (const fact of facts.tasks) {
    const { site, crew } = fact.task;
    if (!crew) continue;
    let groups = bySite.get(site);
    if (!groups) {
      groups = new Map();
      bySite.set(site, groups);
    }
    let own = groups.get(crew.group);
    if (!own) {
      own = [];
      groups.set(crew.group, own);
      work.set(`${site} ${crew.group}`, own);
    }
    own.push(fact);
  }
  return work;
}

/** Heads of a group in use by minute of the window. */
export function crewUse(facts: Facts, siteId: string, groupId: string): Int32Array {
  const used = new Int32Array(facts.to - facts.from);
  for (const { task, start, end } of workOf(facts).get(`${siteId} ${groupId}`) ?? []) {
    if (task.site !== siteId || task.crew?.group !== groupId) continue;
    const until = task.crew.minutes === undefined ? end : Math.min(end, start + task.crew.minutes);
    for (let t = Math.max(start, facts.from); t < Math.min(until, facts.to); t++)
      used[t - facts.from] = used[t - facts.from]! + task.crew.heads;
  }
  return used;
}
