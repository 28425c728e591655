import type { CrewGroup, Site } from "../../schemas/index.js";
import type { Facts, TaskFact } from "./facts.js";
import { midnights, wallSpan, whenMinute } from "./time.js";

export interface CrewLine {
  readonly regular: Int32Array;
  /** Overtime heads by rate, cheapest first. */
  readonly overtime: readonly { readonly costPerHour: number; readonly heads: Int32Array }[];
}

interface KnownLine extends CrewLine {
  readonly zone: string;
  readonly from: number;
  readonly to: number;
}

const linesKnown = new WeakMap<CrewGroup, KnownLine>();
const shortLinesKnown = new WeakMap<Facts, Map<CrewGroup, CrewLine>>();

/** Heads of a group by minute of the window (D7), from its shifts, breaks and absences. Kept with the group while nobody is away. */
export function crewLine(facts: Facts, site: Site, group: CrewGroup): CrewLine {
  if (isSomebodyAway(facts, site, group)) return shortLine(facts, site, group);
  const { from, to } = facts;
  const zone = site.timeZone;
  let line = linesKnown.get(group);
  if (line?.zone !== zone || line.from !== from || line.to !== to) {
    line = { zone, from, to, ...workOutLine(facts, site, group) };
    linesKnown.set(group, line);
  }
  return line;
}

function isSomebodyAway({ day }: Facts, site: Site, group: CrewGroup): boolean {
  for (const happening of day.happenings.happenings)
    if (happening.kind === "absent" && happening.site === site.id && happening.crew === group.id) return true;
  return false;
}

function shortLine(facts: Facts, site: Site, group: CrewGroup): CrewLine {
  const known = shortLinesKnown.get(facts) ?? new Map<CrewGroup, CrewLine>();
  shortLinesKnown.set(facts, known);
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

/** Tasks that take people of one group, and the heads in use by minute of the window once they are asked for. */
interface Work {
  readonly tasks: TaskFact[];
  used: Int32Array | null;
}

const workKnown = new WeakMap<Facts, ReadonlyMap<string, ReadonlyMap<string, Work>>>();

/** By site and group. */
function workOf(facts: Facts): ReadonlyMap<string, ReadonlyMap<string, Work>> {
  let work = workKnown.get(facts);
  if (!work) {
    work = workAnew(facts);
    workKnown.set(facts, work);
  }
  return work;
}

function workAnew(facts: Facts): Map<string, Map<string, Work>> {
  const bySite = new Map<string, Map<string, Work>>();
  for (const fact of facts.tasks) {
    const { site, crew } = fact.task;
    if (!crew) continue;
    let groups = bySite.get(site);
    if (!groups) {
      groups = new Map();
      bySite.set(site, groups);
    }
    const own = groups.get(crew.group);
    if (own) own.tasks.push(fact);
    else groups.set(crew.group, { tasks: [fact], used: null });
  }
  return bySite;
}

/** Heads of a group in use by minute of the window; null: none all day. */
export function crewUse(facts: Facts, siteId: string, groupId: string): Int32Array | null {
  const work = workOf(facts).get(siteId)?.get(groupId);
  if (!work) return null;
  work.used ??= headsIn(work.tasks, facts);
  return work.used;
}

function headsIn(tasks: readonly TaskFact[], facts: Facts): Int32Array {
  const used = new Int32Array(facts.to - facts.from);
  for (const { task, start, end } of tasks) {
    const { heads, minutes } = task.crew!;
    const until = minutes === undefined ? end : Math.min(end, start + minutes);
    for (let t = Math.max(start, facts.from), to = Math.min(until, facts.to); t < to; t++)
      used[t - facts.from] = used[t - facts.from]! + heads;
  }
  return used;
}
