import type { DeckProgram, Kettle, KettleProgram, Oven, Setpoint, Site } from "../../schemas/index.js";
import type { Problem } from "../problem/index.js";
import { changeMinutes, type DeckRow, type SiteRows } from "../problem/site-rows.js";
import type { Clock, MadeLoad } from "./context.js";

interface Firing {
  readonly start: number;
  readonly end: number;
  readonly tempC: number;
  /** Nothing bakes: it was on at the instant of a repair, which is its end, set since then. It may be hot later only, which is its start. */
  readonly setAt?: number;
}

interface OnTime {
  readonly from: number;
  readonly to: number;
  readonly firings: readonly Firing[];
}

/** By heater: its loads in order of start. */
function firingsByHeater(problem: Problem, loads: readonly Pick<MadeLoad, "takes">[]): Map<number, Firing[]> {
  const { book } = problem.prepared;
  const byHeater = new Map<number, Firing[]>();
  for (const load of loads) {
    for (const take of load.takes) {
      const heater = book.heaterAt(take.row);
      if (heater < 0) continue;
      const firing = { start: take.from, end: take.to, tempC: take.tempC ?? problem.model.classOfRow[take.row]! };
      const firings = byHeater.get(heater);
      if (firings) firings.push(firing);
      else byHeater.set(heater, [firing]);
    }
  }
  // What nothing is put on after the instant is switched off then, hot or not.
  const at = problem.begun?.at ?? 0;
  for (const { heater, minute, klass, setAt } of problem.begun?.alight ?? [])
    byHeater.set(heater, [...(byHeater.get(heater) ?? []), { start: minute, end: at, tempC: klass, setAt }]);
  for (const firings of byHeater.values()) firings.sort(inOrder);
  return byHeater;
}

function inOrder(a: Firing, b: Firing): number {
  return a.start - b.start || a.end - b.end;
}

/** When a heater is on: per stretch between outages from its first load's start less the lead to its last load's end. */
function onTimes(problem: Problem, heater: number, firings: readonly Firing[]): OnTime[] {
  const { stretches, leadMinutes } = problem.model.heaters[heater]!;
  const times: OnTime[] = [];
  for (let i = 0; i < stretches.length; i += 2) {
    const inside: Firing[] = [];
    let end = 0;
    for (const firing of firings) {
      if (firing.start < stretches[i]! || firing.start >= stretches[i + 1]!) continue;
      inside.push(firing);
      end = Math.max(end, firing.end);
    }
    if (inside.length === 0) continue;
    const to = Math.min(stretches[i + 1]!, end);
    times.push({ from: inside[0]!.start - leadMinutes, to, firings: inside });
  }
  return times;
}

function setpointsOf(
  on: OnTime,
  leadMinutes: number,
  change: (fromC: number, toC: number) => number,
  at: (minute: number) => string,
): Setpoint[] {
  const first = on.firings[0]!;
  const setpoints = [{ at: at(on.from), hotFrom: at(on.from + leadMinutes), tempC: first.tempC }];
  let tempC = first.tempC;
  let busyUntil = Math.max(first.start, first.end);
  for (const firing of on.firings.slice(1)) {
    if (firing.tempC !== tempC) {
      const turned = firing.setAt ?? busyUntil;
      setpoints.push({ at: at(turned), hotFrom: at(turned + change(tempC, firing.tempC)), tempC: firing.tempC });
      tempC = firing.tempC;
    }
    busyUntil = Math.max(busyUntil, firing.start, firing.end);
  }
  return setpoints;
}

/** What the search's heaters mean for decks and kettles, and what they use. */
export interface HeatPlan {
  readonly ovenProgram: DeckProgram[];
  readonly kettleProgram: KettleProgram[];
  readonly ovenKwh: number;
  readonly ovenCost: number;
  readonly kettleKwh: number;
  readonly kettleCost: number;
  readonly changes: number;
}

/** Writes the programs of decks and kettles one after another. */
class HeatWriter implements HeatPlan {
  readonly ovenProgram: DeckProgram[] = [];
  readonly kettleProgram: KettleProgram[] = [];
  ovenKwh = 0;
  ovenCost = 0;
  kettleKwh = 0;
  kettleCost = 0;
  changes = 0;
  private readonly byHeater: ReadonlyMap<number, readonly Firing[]>;

  constructor(
    private readonly problem: Problem,
    loads: readonly Pick<MadeLoad, "takes">[],
    private readonly clock: Clock,
  ) {
    this.byHeater = firingsByHeater(problem, loads);
  }

  site({ site, decks, kettles }: SiteRows): void {
    const heaters = heatersOf(this.problem, decks);
    const counted = new Set<number>();
    for (const oven of site.ovens)
      for (let deck = 0; deck < oven.decks.length; deck++) this.deck(site, oven, deck, heaters, counted);
    const first = new Map<string, number>();
    for (const [key, row] of kettles) {
      const id = key.slice(0, key.indexOf(" "));
      if (!first.has(id)) first.set(id, row);
    }
    for (const kettle of site.kettles) this.kettle(site, kettle, first.get(kettle.id));
  }

  private deck(
    site: Site,
    oven: Oven,
    deckIndex: number,
    heaters: ReadonlyMap<Oven, ReadonlyMap<number, number>>,
    counted: Set<number>,
  ): void {
    const heater = heaters.get(oven)?.get(oven.sharedThermostat ? SHARED : deckIndex) ?? -1;
    const firings = this.byHeater.get(heater);
    if (!firings) return;
    const deck = oven.decks[deckIndex]!;
    const times = onTimes(this.problem, heater, firings);
    const lead = this.problem.model.heaters[heater]!.leadMinutes;
    const at = (minute: number): string => this.clock(minute, site.id);
    const change = (fromC: number, toC: number): number => changeMinutes(oven, deckIndex, fromC, toC);
    this.ovenProgram.push({
      deck: `${site.id}/${oven.id}/${deck.id}`,
      on: times.map(({ from, to }) => ({ from: at(from), to: at(to) })),
      setpoints: times.flatMap((on) => setpointsOf(on, lead, change, at)),
    });
    const kwh = (minutesOf(times) / 60) * deck.powerKw;
    this.ovenKwh += kwh;
    this.ovenCost += kwh * (site.energyPricePerKwh ?? 0);
    if (counted.has(heater)) return;
    counted.add(heater);
    this.changes += changesIn(firings);
  }

  private kettle(site: Site, kettle: Kettle, row: number | undefined): void {
    const heater = row === undefined ? -1 : this.problem.prepared.book.heaterAt(row);
    const firings = this.byHeater.get(heater);
    if (!firings) return;
    const times = onTimes(this.problem, heater, firings);
    const lead = this.problem.model.heaters[heater]!.leadMinutes;
    const at = (minute: number): string => this.clock(minute, site.id);
    this.kettleProgram.push({
      kettle: `${site.id}/${kettle.id}`,
      on: times.map(({ from, to }) => ({ from: at(from), boilsFrom: at(from + lead), to: at(to) })),
    });
    const kwh = (minutesOf(times) / 60) * (kettle.netHeatW / 1000);
    this.kettleKwh += kwh;
    this.kettleCost += kwh * (site.energyPricePerKwh ?? 0);
  }
}

/** One thermostat for all decks of an oven. */
const SHARED = -1;

/** Heaters by oven and deck: those of the first row of each. */
function heatersOf({ prepared }: Problem, decks: readonly DeckRow[]): Map<Oven, Map<number, number>> {
  const heaters = new Map<Oven, Map<number, number>>();
  for (const { oven, deckIndex, row } of decks) {
    const own = heaters.get(oven) ?? new Map<number, number>();
    heaters.set(oven, own);
    const key = oven.sharedThermostat ? SHARED : deckIndex;
    if (!own.has(key)) own.set(key, prepared.book.heaterAt(row));
  }
  return heaters;
}

function minutesOf(times: readonly OnTime[]): number {
  let minutes = 0;
  for (const { from, to } of times) minutes += to - from;
  return minutes;
}

/** How often the dial is turned between loads. */
function changesIn(firings: readonly Firing[]): number {
  let changes = 0;
  let last: Firing | null = null;
  for (const firing of firings) {
    if (firing.setAt !== undefined) continue;
    if (last && firing.tempC !== last.tempC) changes++;
    last = firing;
  }
  return changes;
}

export function heatPlan(problem: Problem, loads: readonly Pick<MadeLoad, "takes">[], clock: Clock): HeatPlan {
  const writer = new HeatWriter(problem, loads, clock);
  for (const rows of problem.prepared.request.rows.values()) writer.site(rows);
  return writer;
}
