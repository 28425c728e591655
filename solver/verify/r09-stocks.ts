import type { Task } from "../../schemas/index.js";
import { clockText, type Facts, type LoadFact, retardKind, taskOf } from "./facts.js";
import { checkItems, checkPositions, staysOf } from "./places.js";
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
  const to =
    scrapped ??
    (load.load.handOver === "pans" ? facts.to : load.tasks.filter(({ task }) => task.does === "cool").at(-1)!.end);
  return {
    site: shape.task.site,
    type: load.product.panType,
    from: shape.start,
    to,
    amount: load.load.pans,
    task: shape.task.id,
  };
}

/** D14: tubs from the end of the mix to the start of shape; those that ride come back after the window. */
function tubUse(facts: Facts, load: LoadFact): StockUse | null {
  const shape = taskOf(load, "shape");
  const scrapped = load.load.scrapped ? instantSeconds(load.load.scrapped.at) / 60 : null;
  if (retardKind(load.route) !== "tubs" || !load.mix || load.dough.tubType === undefined) return null;
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

function checkStock(
  facts: Facts,
  what: "pans" | "tubs",
  uses: readonly StockUse[],
  stockOf: (site: string, type: string) => number,
): void {
  for (const [key, there] of grouped(uses, stockKey)) {
    const [site, type] = key.split(" ") as [string, string];
    const stock = stockOf(site, type);
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

function checkRoom(facts: Facts, does: "proof" | "cool"): void {
  const { report } = facts;
  const stays = staysOf(facts, does);
  for (const load of facts.loads) {
    for (const fact of load.tasks) {
      if (fact.task.does !== does) continue;
      checkItems(facts, "R9", load, fact, "pans");
      if (areTogether(fact.task)) continue;
      const units = new Set((fact.task.places ?? []).map((place) => place.unit));
      if (units.size > 1)
        report.add("R9", "load-split", `the pans of ${fact.task.id} stand in ${units.size} units, they stay together`, [
          fact.task.id,
        ]);
    }
  }
  for (const { place, fact, load } of stays) {
    const [siteId, id] = place.unit.split("/");
    const site = facts.sites.get(siteId!);
    const unit =
      does === "proof" ? site?.proofers.find((p) => p.id === id) : site?.racks.find((rack) => rack.id === id);
    if (!unit || siteId !== fact.task.site) {
      report.add(
        "R9",
        "no-such-unit",
        `${place.item} stands in ${place.unit}, which is no ${does === "proof" ? "proofer" : "rack"} of ${fact.task.site}`,
        [fact.task.id],
      );
      continue;
    }
    if (place.position > unit.positions)
      report.add(
        "R9",
        "no-such-position",
        `${place.item} is in position ${place.position} of ${place.unit}, which has ${unit.positions}`,
        [fact.task.id],
        { unit: place.unit },
      );
    const proof = does === "proof" ? load.route.steps.find((step) => step.does === "proof") : undefined;
    const wanted = proof && "leastMinutes" in proof ? proof.tempC : undefined;
    if (wanted !== undefined && "tempC" in unit && unit.tempC !== wanted)
      report.add(
        "R9",
        "proof-temperature",
        `${fact.task.id} is to proof at ${wanted} C, ${place.unit} is at ${unit.tempC} C`,
        [fact.task.id],
        { unit: place.unit },
      );
  }
  checkPositions(facts, "R9", stays);
}

/** R9: pans and tubs in use never exceed the stock; proofer and rack positions likewise. */
export function checkStocks(facts: Facts): void {
  checkStock(
    facts,
    "pans",
    usesOf(facts, panUse),
    (site, type) => facts.sites.get(site)?.pans.find((pan) => pan.panType === type)?.count ?? 0,
  );
  checkStock(
    facts,
    "tubs",
    usesOf(facts, tubUse),
    (site, type) => facts.sites.get(site)?.tubs.find((tub) => tub.tubType === type)?.count ?? 0,
  );
  checkRoom(facts, "proof");
  checkRoom(facts, "cool");
}
