import type { DayDocuments, Issue, Load } from "../../schemas/index.js";
import { instantMinute, resolveWhen } from "../calendar.js";
import { inForceOf } from "../problem/in-force.js";
import { type Check, Findings, idsOf, list } from "./context.js";

/** The instant at which things stand as told, as an epoch minute; null without one. */
function instantOf({ happenings: { at }, network }: DayDocuments): number | null {
  const zone = network.sites[0]?.timeZone;
  if (at === undefined || zone === undefined) return null;
  try {
    const resolved = resolveWhen(at, zone);
    return "minute" in resolved ? resolved.minute : null;
  } catch {
    return null;
  }
}

/** Loads of which something may have begun: by the clock, or because somebody told of it. */
function begunLoads(day: DayDocuments): Load[] {
  const { inForce } = day;
  const at = instantOf(day);
  if (!inForce || at === null) return [];
  const { mixes, tasks } = inForceOf(inForce);
  const told = new Set(day.happenings.happenings.flatMap((one) => ("task" in one ? [one.task] : [])));
  return inForce.loads.filter((load) => {
    const mix = mixes.get(load.batch);
    if (mix && (instantMinute(mix.start) < at || told.has(mix.id))) return true;
    return tasks.get(load.id)?.some(({ id }) => told.has(id)) ?? false;
  });
}

/** What has begun by the timetable in force goes on as the catalogue says: its product, route and dough are still there. What has not begun is made as the catalogue says now. */
export const checkBegun: Check = (day, findings) => {
  const begun = begunLoads(day);
  if (begun.length === 0) return;
  const { catalogue, network, inForce } = day;
  const products = new Map(catalogue.products.map((product) => [product.id, product]));
  const doughs = idsOf(catalogue.doughs);
  const sites = idsOf(network.sites);
  const batches = new Map(inForce!.batches.map((batch) => [batch.id, batch]));
  const said = new Set<string>();
  for (const load of begun) {
    const at = `/loads/${inForce!.loads.indexOf(load)}`;
    const say = (code: Parameters<typeof findings.add>[0], pointer: string, message: string, fix: string): void => {
      if (said.has(message)) return;
      said.add(message);
      findings.add(code, "timetable", pointer, message, fix);
    };
    const product = products.get(load.product);
    if (!product)
      say(
        "unknown-product",
        `${at}/product`,
        `${load.product} has been begun, but is not in the catalogue any more.`,
        `Put it back until it is made. To stop making it, cancel its orders; or take the timetable out of force.`,
      );
    else if (!product.routes.some(({ id }) => id === load.route))
      say(
        "unknown-route",
        `${at}/route`,
        `${load.product} has been begun by its route ${load.route}, which it does not have any more.`,
        `Put the route back beside ${list(product.routes.map(({ id }) => id))} until it is made, or take the timetable out of force.`,
      );
    const dough = batches.get(load.batch)?.dough;
    if (dough !== undefined && !doughs.has(dough))
      say(
        "unknown-dough",
        `${at}/batch`,
        `${dough} dough has been mixed, but is not in the catalogue any more.`,
        "Put it back until what it is for is made, or take the timetable out of force.",
      );
    for (const site of [batches.get(load.batch)?.site, load.bakedAt, load.deliveredTo])
      if (site !== undefined && !sites.has(site))
        say(
          "unknown-site",
          at,
          `${load.product} has been begun for or at ${site}, which is not in the network any more.`,
          "Put the site back until it is made, or take the timetable out of force.",
        );
  }
};

/** What is wrong with what has begun, for a day that passed its other checks. */
export function begunIssues(day: DayDocuments): Issue[] {
  const findings = new Findings();
  checkBegun(day, findings);
  return findings.issues;
}
