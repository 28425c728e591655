import type { Batch, DayDocuments, Issue, IssueCode, Load, Task, Timetable } from "../../schemas/index.js";
import { instantMinute, resolveWhen } from "../calendar.js";
import { inForceOf } from "../problem/in-force.js";
import { type Check, Findings, idsOf, list } from "./context.js";

/** Something that a load is made by or of, and that the documents have no more. */
interface Missing {
  readonly code: IssueCode;
  readonly field: "product" | "route" | "batch" | "bakedAt" | "deliveredTo";
  readonly id: string;
  /** As in "makes it by route x, which ...". */
  readonly what: string;
  readonly fix: string;
}

/** What the documents of a day lack for loads of a timetable: each thing once for each load that needs it. */
class Lacking {
  private readonly products: ReadonlyMap<string, readonly string[]>;
  /** By product and route: what its steps do. */
  private readonly routes: ReadonlyMap<string, ReadonlySet<string>>;
  private readonly doughs: ReadonlySet<string>;
  private readonly sites: ReadonlySet<string>;

  constructor({ catalogue, network }: DayDocuments) {
    this.products = new Map(catalogue.products.map(({ id, routes }) => [id, routes.map((route) => route.id)]));
    this.routes = new Map(
      catalogue.products.flatMap((product) =>
        product.routes.map(
          (route) => [`${product.id} ${route.id}`, new Set(route.steps.map(({ does }) => does))] as const,
        ),
      ),
    );
    this.doughs = idsOf(catalogue.doughs);
    this.sites = idsOf(network.sites);
  }

  /** A step that a load takes in the timetable and that its route has no more. */
  step({ product, route }: Load, chain: readonly Task[]): Missing | null {
    const steps = this.routes.get(`${product} ${route}`);
    const gone = steps && chain.find(({ does }) => does !== "van" && !steps.has(does));
    if (!gone) return null;
    return {
      code: "unknown-step",
      field: "route",
      id: `${product} ${route} ${gone.does}`,
      what: `${product} by its route ${route}, which does not ${gone.does} any more`,
      fix: `Put the step back until it is made (what is made later can have another route), or take the timetable out of force.`,
    };
  }

  of(load: Load, batch: Batch | undefined): Missing | null {
    const routes = this.products.get(load.product);
    if (!routes)
      return {
        code: "unknown-product",
        field: "product",
        id: load.product,
        what: `${load.product}, which is not in the catalogue any more`,
        fix: "Put it back until it is made. To stop making it, cancel its orders; or take the timetable out of force.",
      };
    if (!routes.includes(load.route))
      return {
        code: "unknown-route",
        field: "route",
        id: `${load.product} ${load.route}`,
        what: `${load.product} by its route ${load.route}, which it does not have any more`,
        fix: `Put the route back beside ${list(routes)} until it is made, or take the timetable out of force.`,
      };
    if (batch && !this.doughs.has(batch.dough))
      return {
        code: "unknown-dough",
        field: "batch",
        id: batch.dough,
        what: `${load.product} of ${batch.dough} dough, which is not in the catalogue any more`,
        fix: "Put it back until what it is for is made, or take the timetable out of force.",
      };
    const [field, site] =
      (["bakedAt", "deliveredTo"] as const)
        .map((name) => [name, load[name]] as const)
        .find(([, id]) => !this.sites.has(id)) ??
      (batch && !this.sites.has(batch.site) ? (["batch", batch.site] as const) : []);
    if (field === undefined) return null;
    return {
      code: "unknown-site",
      field,
      id: site!,
      what: `${load.product} at or for ${site}, which is not in the network any more`,
      fix: "Put the site back until it is made, or take the timetable out of force.",
    };
  }
}

/** What a timetable makes that the documents of a day know nothing of, in words; null when it can be read with them. */
export function unknownToDay(
  day: DayDocuments,
  { loads, batches }: Pick<Timetable, "loads" | "batches">,
): string | null {
  const lacking = new Lacking(day);
  const byId = new Map(batches.map((batch) => [batch.id, batch]));
  for (const load of loads) {
    const missing = lacking.of(load, byId.get(load.batch));
    if (missing) return missing.what;
  }
  return null;
}

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

/**
 * What has begun by the timetable in force goes on as the documents say: its product, route, dough and sites are still there. What has not begun is made
 * as they say now.
 */
export const checkBegun: Check = (day, findings) => {
  const begun = begunLoads(day);
  if (begun.length === 0) return;
  const { loads, batches } = day.inForce!;
  const lacking = new Lacking(day);
  const byId = new Map(batches.map((batch) => [batch.id, batch]));
  const said = new Set<string>();
  const { chains } = inForceOf(day.inForce);
  for (const load of begun) {
    const missing = lacking.of(load, byId.get(load.batch)) ?? lacking.step(load, chains.get(load.id) ?? []);
    if (!missing || said.has(`${missing.code} ${missing.id}`)) continue;
    said.add(`${missing.code} ${missing.id}`);
    const pointer = `/loads/${loads.indexOf(load)}/${missing.field}`;
    findings.add(missing.code, "timetable", pointer, `Work has begun on ${missing.what}.`, missing.fix);
  }
};

/** What is wrong with what has begun, for a day that passed its other checks. */
export function begunIssues(day: DayDocuments): Issue[] {
  const findings = new Findings();
  checkBegun(day, findings);
  return findings.issues;
}
