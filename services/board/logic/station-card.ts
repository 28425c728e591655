import type { Caution } from "../../../solver/trade/cautions.js";
import { runs } from "./lanes.js";
import type { Plan, PlannedTask } from "./plan.js";

/** One thing to do at a station. */
export interface Card {
  readonly id: string;
  /** The task that a mark is about; none for heat and for vans. */
  readonly task: string | undefined;
  /** What it is taken out of again, when that is all that is to do: the task has a card of its own for what goes in. */
  readonly outOf?: string;
  /** The task whose load is to be thrown away: neither begun nor finished, only told of. */
  readonly discards?: string;
  readonly unit: string | undefined;
  readonly verb: string;
  /** What is to do next once it has begun. */
  readonly after?: string;
  /** It stands there by itself: nobody works at it. */
  readonly stands?: boolean;
  /** Beside this card, and not only for the station. */
  readonly cautions?: readonly Caution[];
  readonly what: string;
  readonly where: string;
  readonly details: readonly string[];
  readonly fromMs: number;
  readonly toMs: number;
  readonly allergens: readonly string[];
}

export const pans = (n: number): string => `${n} ${n === 1 ? "pan" : "pans"}`;

export function positionText(task: PlannedTask): string {
  const byUnit = new Map<string, number[]>();
  for (const place of task.task.places ?? []) {
    const part = place.unit.split("/")[2];
    const key = part ? part.replace(/-/g, " ") : "";
    byUnit.set(key, [...(byUnit.get(key) ?? []), place.position]);
  }
  return [...byUnit]
    .map(([part, positions]) => {
      const list = runs(positions)
        .map(([a, b]) => (a === b ? `${a}` : `${a}–${b}`))
        .join(", ");
      return `${part === "" ? "" : `${part}, `}${positions.length === 1 ? "position" : "positions"} ${list}`;
    })
    .join("; ");
}

/** Names of the allergens of a load's product: its dough's and its toppings'. */
export function allergensOf(plan: Plan, task: PlannedTask): string[] {
  const { catalogue } = plan.day;
  const dough = catalogue.doughs.find((candidate) => candidate.id === task.dough);
  const ids = new Set([
    ...(dough?.formula.map((line) => line.ingredient) ?? []),
    ...(task.product?.toppings?.map((topping) => topping.ingredient) ?? []),
  ]);
  const allergens = new Set(
    catalogue.ingredients
      .filter((ingredient) => ids.has(ingredient.id))
      .flatMap((ingredient) => ingredient.allergens ?? []),
  );
  return catalogue.allergens.filter((allergen) => allergens.has(allergen.id)).map((allergen) => allergen.name);
}

export function loadText(task: PlannedTask): string {
  return `${task.load!.pieces} ${task.product?.name ?? task.load!.product}`;
}

export function card(plan: Plan, task: PlannedTask, more: Partial<Card> & Pick<Card, "verb">): Card {
  return {
    id: task.id,
    task: task.id,
    unit: task.task.unit ?? task.task.places?.[0]?.unit,
    what: task.load ? loadText(task) : "",
    where: "",
    details: [],
    fromMs: task.fromMs,
    toMs: task.toMs,
    allergens: task.load ? allergensOf(plan, task) : [],
    ...more,
  };
}
