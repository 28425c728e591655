import type { Task } from "../../schemas/index.js";
import { clockText, type Facts, type LoadFact, taskOf } from "./facts.js";
import { checkItems, checkPositions, type Placing, placingsOf } from "./places.js";
import { grouped, overuses, type Use } from "./sweep.js";
import { instantSeconds } from "./time.js";

interface StockUse extends Use {
  readonly site: string;
  readonly type: string;
}

/** D14: pans from the start of shape to the end of cool; those that ride come back after the window. */
function panUse(facts: Facts, load: LoadFact): StockUse | null {
  const shape = taskOf(load, "shape");
  const cool = taskOf(load, "cool");
  const scrapped = load.load.scrapped ? instantSeconds(load.load.scrapped.at) / 60 : null;
  if (!shape || (!cool && scrapped === null)) return null;
  const to = scrapped ?? (load.load.handOver === "pans" ? facts.to : lastEnd(load, "cool"));
  return {
    site: shape.task.site,
    type: load.product.panType,
    from: shape.start,
    to,
    amount: load.load.pans,
    task: shape.task.id,
  };
}

/** When the last task of a load that does something ends. */
function lastEnd({ tasks }: LoadFact, does: Task["does"]): number {
  let last = Number.NaN;
  for (const { task, end } of tasks) if (task.does === does) last = end;
  return last;
}

/** D14: tubs from the end of the mix to the start of shape; those that ride come back after the window. */
function tubUse(facts: Facts, load: LoadFact): StockUse | null {
  if (load.way.retards !== "tubs" || !load.mix || load.dough.tubType === undefined) return null;
  const shape = taskOf(load, "shape");
  const scrapped = load.load.scrapped ? instantSeconds(load.load.scrapped.at) / 60 : null;
  if (!shape && scrapped === null) return null;
  const to = shape && load.load.handOver !== "tubs" ? shape.start : (scrapped ?? facts.to);
  return {
    site: load.batch.site,
    type: load.dough.tubType,
    from: load.mix.end,
    to,
    amount: load.load.tubs.length,
    task: load.mix.task.id,
  };
}

function usesOf(facts: Facts, use: (facts: Facts, load: LoadFact) => StockUse | null): StockUse[] {
  const uses: StockUse[] = [];
  for (const load of facts.loads) {
    const own = use(facts, load);
    if (own) uses.push(own);
  }
  return uses;
}

function stockKey({ site, type }: StockUse): string {
  return `${site} ${type}`;
}

function pansAt({ sites }: Facts, site: string, type: string): number {
  return sites.get(site)?.pans.find((pan) => pan.panType === type)?.count ?? 0;
}

function tubsAt({ sites }: Facts, site: string, type: string): number {
  return sites.get(site)?.tubs.find((tub) => tub.tubType === type)?.count ?? 0;
}

function checkStock(
  facts: Facts,
  what: "pans" | "tubs",
  uses: readonly StockUse[],
  stockOf: (facts: Facts, site: string, type: string) => number,
): void {
  for (const [key, there] of grouped(uses, stockKey)) {
    const [site, type] = key.split(" ") as [string, string];
    const stock = stockOf(facts, site, type);
    for (const { at, used, tasks } of overuses(there, stock)) {
      facts.report.add(
        "R9",
        `${what}-stock`,
        `${site} has ${used} ${what} of ${type} in use at ${clockText(at)}, ${stock} in stock`,
        tasks,
      );
    }
  }
}

function areTogether({ places = [] }: Task): boolean {
  for (const { unit } of places) if (unit !== places[0]!.unit) return false;
  return true;
}

function checkTogether(facts: Facts, { fact: { task } }: Placing): void {
  if (areTogether(task)) return;
  const units = new Set((task.places ?? []).map((place) => place.unit));
  facts.report.add("R9", "load-split", `the pans of ${task.id} stand in ${units.size} units, they stay together`, [
    task.id,
  ]);
}

/** The pans of a load stand in proofers or on racks that are there, have the positions and are warm enough. */
function checkStands(facts: Facts, does: "proof" | "cool", { load, fact: { task } }: Placing): void {
  const { report } = facts;
  for (const { item, unit: name, position } of task.places ?? []) {
    const { siteId, proofer, rack } = facts.units.at(name);
    const unit = does === "proof" ? proofer : rack;
    if (!unit || siteId !== task.site) {
      report.add(
        "R9",
        "no-such-unit",
        `${item} stands in ${name}, which is no ${does === "proof" ? "proofer" : "rack"} of ${task.site}`,
        [task.id],
      );
      continue;
    }
    if (position > unit.positions)
      report.add(
        "R9",
        "no-such-position",
        `${item} is in position ${position} of ${name}, which has ${unit.positions}`,
        [task.id],
        { unit: name },
      );
    const wanted = does === "proof" ? load.way.proofAtC : undefined;
    if (wanted !== undefined && proofer && proofer.tempC !== wanted)
      report.add(
        "R9",
        "proof-temperature",
        `${task.id} is to proof at ${wanted} C, ${name} is at ${proofer.tempC} C`,
        [task.id],
        { unit: name },
      );
  }
}

function checkRoom(facts: Facts, does: "proof" | "cool"): void {
  const placings = placingsOf(facts, does);
  for (const placing of placings) {
    checkItems(facts, "R9", placing, "pans");
    checkTogether(facts, placing);
  }
  for (const placing of placings) checkStands(facts, does, placing);
  checkPositions(facts, "R9", does, placings);
}

/** R9: pans and tubs in use never exceed the stock; proofer and rack positions likewise. */
export function checkStocks(facts: Facts): void {
  checkStock(facts, "pans", usesOf(facts, panUse), pansAt);
  checkStock(facts, "tubs", usesOf(facts, tubUse), tubsAt);
  checkRoom(facts, "proof");
  checkRoom(facts, "cool");
}
