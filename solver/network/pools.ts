import type { LimitKind, Site } from "../../schemas/index.js";
import { absencesOf, crewCapacity } from "../calendar.js";
import { type DayIndex, outagesOf } from "../problem/day-index.js";

/** Things of a kind at a site, taken together: at any minute no plan uses more of them than is there. */
export interface Pool {
  readonly id: string;
  readonly kind: LimitKind;
  readonly site: string;
  /** Whose or which: the skills, the container, the units. */
  readonly of: string;
  /** Amount there at each minute. */
  readonly line: Float64Array;
  /** Amount-minutes before each minute. Length horizon + 1. */
  readonly sums: Float64Array;
}

/** Pools by id, made when first asked for. */
export class PoolBook {
  readonly pools: Pool[] = [];
  private readonly byId = new Map<string, number>();
  private readonly crews = new Map<string, Int32Array>();
  readonly index: DayIndex;

  constructor(index: DayIndex) {
    this.index = index;
  }

  get(kind: Pool["kind"], site: string, of: string, line: () => Float64Array): number {
    const id = `${site} ${kind} ${of}`;
    let number = this.byId.get(id);
    if (number === undefined) {
      const amounts = line();
      const sums = new Float64Array(amounts.length + 1);
      for (let t = 0; t < amounts.length; t++) sums[t + 1] = sums[t]! + amounts[t]!;
      number = this.pools.push({ id, kind, site, of, line: amounts, sums }) - 1;
      this.byId.set(id, number);
    }
    return number;
  }

  /** Units in service, each counted as so much. */
  unitLine(
    units: readonly {
      readonly unit: string;
      readonly amount: number;
      readonly leadMinutes?: number;
      readonly heater?: string;
    }[],
  ): Float64Array {
    const line = new Float64Array(this.index.horizon);
    for (const { unit, amount, leadMinutes = 0, heater } of units) {
      const open = this.inService(unit, leadMinutes, heater);
      for (let t = 0; t < line.length; t++) if (open[t]) line[t] = line[t]! + amount;
    }
    return line;
  }

  /** 1 where a unit is in service and what heats it has been for its lead: with one thermostat the oven stays hot while a deck of it is out. */
  inService(unit: string, leadMinutes: number, heater = unit): Uint8Array {
    const { horizon } = this.index;
    const open = new Uint8Array(horizon).fill(1);
    for (const outage of outagesOf(this.index, unit)) open.fill(0, outage.from, outage.to);
    if (leadMinutes <= 0) return open;
    const heats = new Uint8Array(horizon).fill(1);
    for (const outage of outagesOf(this.index, heater)) heats.fill(0, outage.from, outage.to);
    let closedUntil = leadMinutes;
    for (let t = 0; t < horizon; t++) {
      if (!heats[t]) closedUntil = t + 1 + leadMinutes;
      if (t < closedUntil) open[t] = 0;
    }
    return open;
  }

  /** Heads of a crew group at each minute, overtime included. */
  heads(site: Site, group: string): Int32Array {
    const key = `${site.id} ${group}`;
    let line = this.crews.get(key);
    if (!line) {
      const { index } = this;
      const absences = absencesOf(index.day.happenings, site, group);
      const window = { fromMinute: index.origin, toMinute: index.origin + index.horizon };
      const capacity = crewCapacity(site.crew.find(({ id }) => id === group)!, site.timeZone, absences, window);
      line = Int32Array.from(capacity.regular);
      for (const { capacity: extra } of capacity.overtime)
        for (let t = 0; t < line.length; t++) line[t] = line[t]! + extra[t]!;
      this.crews.set(key, line);
    }
    return line;
  }

  /** The pools that work with a skill draws from: one for every set of skills whose people nobody else's work can spare. */
  crewPools(site: Site, skill: string): number[] {
    const all = [...new Set(site.crew.flatMap(({ skills }) => skills))].sort();
    const sets = [...all.map((own) => [own]), ...site.crew.map(({ skills }) => [...skills]), all];
    const found = new Set<number>();
    for (const set of sets) {
      const groups = site.crew.filter(({ skills }) => skills.some((own) => set.includes(own)));
      // All skills that only these groups have: sets that the same people serve bind as one.
      const closure = all.filter((own) =>
        site.crew.every((group) => !group.skills.includes(own) || groups.includes(group)),
      );
      if (!closure.includes(skill)) continue;
      found.add(
        this.get("crew", site.id, closure.join("+"), () => {
          const line = new Float64Array(this.index.horizon);
          for (const group of groups) {
            const heads = this.heads(site, group.id);
            for (let t = 0; t < line.length; t++) line[t] = line[t]! + heads[t]!;
          }
          return line;
        }),
      );
    }
    return [...found];
  }
}
