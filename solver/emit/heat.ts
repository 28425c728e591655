import type { DeckProgram, KettleProgram, Setpoint } from "../../schemas/index.js";
import type { Problem } from "../problem/index.js";
import { changeMinutes } from "../problem/site-rows.js";
import type { Clock, MadeLoad } from "./context.js";

interface Firing {
  readonly start: number;
  readonly end: number;
  readonly tempC: number;
  /** Nothing bakes: it was on at the instant of a repair, set since then. */
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
      const firings = byHeater.get(heater) ?? [];
      firings.push({ start: take.from, end: take.to, tempC: problem.model.classOfRow[take.row]! });
      byHeater.set(heater, firings);
    }
  }
  for (const { heater, minute, klass, setAt } of problem.begun?.alight ?? [])
    byHeater.set(heater, [...(byHeater.get(heater) ?? []), { start: minute, end: minute, tempC: klass, setAt }]);
  for (const firings of byHeater.values()) firings.sort((a, b) => a.start - b.start || a.end - b.end);
  return byHeater;
}

/** When a heater is on: per stretch between outages from its first load's start less the lead to its last load's end. */
function onTimes(problem: Problem, heater: number, firings: readonly Firing[]): OnTime[] {
  const { stretches, leadMinutes } = problem.model.heaters[heater]!;
  const times: OnTime[] = [];
  for (let i = 0; i < stretches.length; i += 2) {
    const inside = firings.filter((firing) => firing.start >= stretches[i]! && firing.start < stretches[i + 1]!);
    if (inside.length === 0) continue;
    const to = Math.min(stretches[i + 1]!, Math.max(...inside.map((firing) => firing.end)));
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
  let busyUntil = first.end;
  for (const firing of on.firings.slice(1)) {
    if (firing.tempC !== tempC) {
      const turned = firing.setAt ?? busyUntil;
      setpoints.push({ at: at(turned), hotFrom: at(turned + change(tempC, firing.tempC)), tempC: firing.tempC });
      tempC = firing.tempC;
    }
    busyUntil = Math.max(busyUntil, firing.end);
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

export function heatPlan(problem: Problem, loads: readonly Pick<MadeLoad, "takes">[], clock: Clock): HeatPlan {
  const byHeater = firingsByHeater(problem, loads);
  const plan = { ovenKwh: 0, ovenCost: 0, kettleKwh: 0, kettleCost: 0, changes: 0 };
  const ovenProgram: DeckProgram[] = [];
  const kettleProgram: KettleProgram[] = [];
  for (const { site, decks, kettles } of problem.prepared.request.rows.values()) {
    const price = site.energyPricePerKwh ?? 0;
    const at = (minute: number): string => clock(minute, site.id);
    const counted = new Set<number>();
    for (const oven of site.ovens) {
      oven.decks.forEach((deck, deckIndex) => {
        const row = decks.find((own) => own.oven === oven && (oven.sharedThermostat || own.deckIndex === deckIndex));
        const heater = row ? problem.prepared.book.heaterAt(row.row) : -1;
        const firings = byHeater.get(heater);
        if (!firings) return;
        const times = onTimes(problem, heater, firings);
        const lead = problem.model.heaters[heater]!.leadMinutes;
        const change = (fromC: number, toC: number): number => changeMinutes(oven, deckIndex, fromC, toC);
        ovenProgram.push({
          deck: `${site.id}/${oven.id}/${deck.id}`,
          on: times.map(({ from, to }) => ({ from: at(from), to: at(to) })),
          setpoints: times.flatMap((on) => setpointsOf(on, lead, change, at)),
        });
        const kwh = (times.reduce((sum, { from, to }) => sum + to - from, 0) / 60) * deck.powerKw;
        plan.ovenKwh += kwh;
        plan.ovenCost += kwh * price;
        if (counted.has(heater)) return;
        counted.add(heater);
        const loaded = firings.filter((firing) => firing.setAt === undefined);
        for (let i = 1; i < loaded.length; i++) if (loaded[i]!.tempC !== loaded[i - 1]!.tempC) plan.changes++;
      });
    }
    for (const kettle of site.kettles) {
      const row = [...kettles].find(([key]) => key.startsWith(`${kettle.id} `))?.[1];
      const heater = row === undefined ? -1 : problem.prepared.book.heaterAt(row);
      const firings = byHeater.get(heater);
      if (!firings) continue;
      const times = onTimes(problem, heater, firings);
      const lead = problem.model.heaters[heater]!.leadMinutes;
      kettleProgram.push({
        kettle: `${site.id}/${kettle.id}`,
        on: times.map(({ from, to }) => ({ from: at(from), boilsFrom: at(from + lead), to: at(to) })),
      });
      const kwh = (times.reduce((sum, { from, to }) => sum + to - from, 0) / 60) * (kettle.netHeatW / 1000);
      plan.kettleKwh += kwh;
      plan.kettleCost += kwh * price;
    }
  }
  return { ...plan, ovenProgram, kettleProgram };
}
