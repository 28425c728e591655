import type { Load, Product, Step, Task } from "../../schemas/index.js";
import type { BegunTask, RowUse } from "../problem/begun.js";
import type { Prepared } from "../problem/prepare.js";
import type { SiteRows } from "../problem/site-rows.js";
import { benchClassKey, kettleClassKey } from "../problem/uses.js";
import { allergensOfDough, allergensOfProduct } from "../trade/dough.js";
import { isStandingTask } from "./standing.js";

/**
 * What the work of a load that goes on in no way took of units and people: looked up by what it was, for there may be no way left that has it
 * (its only van is cancelled).
 */
export function usesOfWork(prepared: Prepared, load: Load, tasks: readonly BegunTask[]): RowUse[] {
  const product = prepared.index.products.get(load.product);
  const uses: RowUse[] = [];
  for (const { task, start, end } of tasks) {
    if (isStandingTask(task) || task.does === "van" || end === null || end <= start) continue;
    const rows = prepared.request.rows.get(task.site);
    const step = product && stepOf(product, load.route, task.does);
    const taken = rows && step && unitUse(prepared, rows, product, step, task, load.pans);
    if (!taken) continue;
    uses.push({ ...taken, from: start, to: end, tempC: task.tempC });
    const { crew } = task;
    const row = crew && rows.crew.get(crew.group);
    const to = crew?.minutes === undefined ? end : Math.min(end, start + crew.minutes);
    if (row !== undefined) uses.push({ row, from: start, to, amount: crew!.heads });
  }
  return uses;
}

function stepOf({ routes }: Product, route: string, does: Task["does"]): Step | undefined {
  return routes.find(({ id }) => id === route)?.steps.find((step) => step.does === does);
}

/** The row of a task's unit, and how much of it a step takes. */
function unitUse(
  { index }: Prepared,
  { site, benches, kettles, decks }: SiteRows,
  product: Product,
  step: Step,
  { unit = "" }: Task,
  pans: number,
): Pick<RowUse, "row" | "amount"> | null {
  const { catalogue } = index.day;
  const id = unit.slice(site.id.length + 1);
  let row: number | undefined;
  let amount = 1;
  if (step.does === "bake") {
    row = decks.find(
      (deck) => deck.unit === unit && deck.tempC === step.tempC && deck.panType === product.panType,
    )?.row;
    amount = pans;
  } else if (step.does === "boil") {
    const allergens = allergensOfDough(catalogue, index.doughs.get(product.dough)!);
    row = kettles.get(`${id} ${kettleClassKey(allergens, step.lyePercent ?? 0)}`);
  } else if (step.does === "shape" || step.does === "top" || step.does === "pack") {
    row = benches.get(`${id} ${benchClassKey(allergensOfProduct(catalogue, product))}`);
    amount = step.heads;
  }
  return row === undefined ? null : { row, amount };
}
