import type { DeckProgram, HeatChange, HeatStep, KettleProgram, Timetable } from "../../schemas/index.js";
import { parseInstant } from "../calendar.js";

function seconds(instant: string): number {
  return parseInstant(instant) ?? Number.NaN;
}

/** Programs of ovens and kettles by unit; of two of one unit the first counts. */
class Programs {
  readonly ovens = new Map<string, DeckProgram>();
  readonly kettles = new Map<string, KettleProgram>();

  constructor({ ovenProgram, kettleProgram }: Timetable) {
    for (const program of ovenProgram) if (!this.ovens.has(program.deck)) this.ovens.set(program.deck, program);
    for (const program of kettleProgram)
      if (!this.kettles.has(program.kettle)) this.kettles.set(program.kettle, program);
  }

  /** Dial and burner of a unit from an instant on. */
  steps(unit: string, at: number): HeatStep[] {
    const steps: HeatStep[] = [];
    const oven = this.ovens.get(unit);
    if (oven) for (const span of oven.on) addSpan(steps, span, oven);
    for (const span of this.kettles.get(unit)?.on ?? []) addSpan(steps, span, oven);
    const lit = new Set<string>();
    for (const step of steps) lit.add(step.at);
    for (const set of oven?.setpoints ?? [])
      if (!lit.has(set.at)) steps.push({ at: set.at, does: "set", tempC: set.tempC });
    const ahead: HeatStep[] = [];
    for (const step of steps) if (seconds(step.at) >= at) ahead.push(step);
    return ahead.sort(inOrder);
  }
}

function inOrder(a: HeatStep, b: HeatStep): number {
  return seconds(a.at) - seconds(b.at);
}

/** Lit at the setpoint that is set then. */
function addSpan(
  steps: HeatStep[],
  { from, to }: { readonly from: string; readonly to: string },
  oven: DeckProgram | undefined,
): void {
  const lit: HeatStep = { at: from, does: "light" };
  for (const { at, tempC } of oven?.setpoints ?? []) {
    if (seconds(at) !== seconds(from)) continue;
    lit.tempC = tempC;
    break;
  }
  steps.push(lit, { at: to, does: "off" });
}

function areAlike(some: readonly HeatStep[], others: readonly HeatStep[]): boolean {
  if (some.length !== others.length) return false;
  for (let i = 0; i < some.length; i++) {
    const one = some[i]!;
    const other = others[i]!;
    if (one.at !== other.at || one.does !== other.does || one.tempC !== other.tempC) return false;
  }
  return true;
}

/** What is lit, set or turned off otherwise from an instant on (epoch seconds), by unit. */
export function heatChanges(before: Timetable, after: Timetable, at: number): HeatChange[] {
  const was = new Programs(before);
  const is = new Programs(after);
  const units = new Set<string>([...was.ovens.keys(), ...was.kettles.keys(), ...is.ovens.keys(), ...is.kettles.keys()]);
  const found: HeatChange[] = [];
  for (const unit of [...units].sort()) {
    const old = was.steps(unit, at);
    const now = is.steps(unit, at);
    if (!areAlike(old, now)) found.push({ unit, before: old, after: now });
  }
  return found;
}
