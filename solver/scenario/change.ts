import type { DayChange, DayDocuments, IssueCode, LineChoice, OrderLine, Site } from "../../schemas/index.js";
import { linesAsTold, withToldLines } from "../problem/told.js";

/** Why a change cannot be made: the field of the change that is at fault, what is wrong and what would mend it. */
export class CannotChange extends Error {
  constructor(
    readonly code: IssueCode,
    readonly field: string,
    message: string,
    readonly fix: string,
  ) {
    super(message);
  }
}

/** One kind of change to a day's documents. Days are never edited: the answer is another day. */
export interface ChangeKind<C extends DayChange> {
  readonly kind: C["kind"];
  /** Throws CannotChange. */
  readonly apply: (day: DayDocuments, change: C) => DayDocuments;
  /** Half a sentence in the trade's words. */
  readonly words: (day: DayDocuments, change: C) => string;
}

export type ChangeOf<K extends DayChange["kind"]> = Extract<DayChange, { kind: K }>;

/** Declares a kind of change. */
export function changeKind<K extends DayChange["kind"]>(kind: ChangeKind<ChangeOf<K>>): ChangeKind<ChangeOf<K>> {
  return kind;
}

export function isChosen(line: OrderLine, of: LineChoice | undefined): boolean {
  if (!of) return true;
  return (
    (!of.lines || of.lines.includes(line.id)) &&
    (!of.products || of.products.includes(line.product)) &&
    (!of.customers || (line.customer !== undefined && of.customers.includes(line.customer))) &&
    (!of.sites || of.sites.includes(line.site))
  );
}

/** Everything that a choice names exists. */
export function checkChoice(day: DayDocuments, of: LineChoice | undefined): void {
  if (!of) return;
  const lines = linesAsTold(day);
  const missing = (list: readonly string[] | undefined, has: (id: string) => boolean): [string, number] | undefined => {
    const at = list?.findIndex((id) => !has(id)) ?? -1;
    return at < 0 ? undefined : [list![at]!, at];
  };
  const fail = (code: IssueCode, field: string, found: [string, number] | undefined, what: string): void => {
    if (found)
      throw new CannotChange(
        code,
        `of/${field}/${found[1]}`,
        `${what} "${found[0]}" is not there.`,
        "Check the spelling, or leave it out.",
      );
  };
  fail(
    "not-allowed",
    "lines",
    missing(of.lines, (id) => lines.some((line) => line.id === id)),
    "Order line",
  );
  fail(
    "unknown-product",
    "products",
    missing(of.products, (id) => day.catalogue.products.some((p) => p.id === id)),
    "Product",
  );
  fail(
    "not-allowed",
    "customers",
    missing(of.customers, (id) => lines.some((line) => line.customer === id)),
    "Customer",
  );
  fail(
    "unknown-site",
    "sites",
    missing(of.sites, (id) => day.network.sites.some((site) => site.id === id)),
    "Site",
  );
}

/** The day with other order lines: those that stand, as told, edited. */
export function withLines(day: DayDocuments, edit: (line: OrderLine) => OrderLine | null): DayDocuments {
  const told = withToldLines(day);
  const lines = told.orders.lines.flatMap((line) => edit(line) ?? []);
  return { ...told, orders: { ...told.orders, lines } };
}

/** The day with a site edited. */
export function withSite(day: DayDocuments, id: string, edit: (site: Site) => Site): DayDocuments {
  if (!day.network.sites.some((site) => site.id === id))
    throw new CannotChange(
      "unknown-site",
      "site",
      `Site "${id}" is not in the network.`,
      "Name one of the network's sites.",
    );
  const sites = day.network.sites.map((site) => (site.id === id ? edit(site) : site));
  return { ...day, network: { ...day.network, sites } };
}

/** An id like another that is not taken. */
export function freshId(stem: string, taken: readonly { readonly id: string }[]): string {
  const base = stem.slice(0, 50);
  for (let n = 2; ; n++) if (!taken.some(({ id }) => id === `${base}-extra-${n}`)) return `${base}-extra-${n}`;
}

export function siteName(day: DayDocuments, id: string): string {
  return day.network.sites.find((site) => site.id === id)?.name ?? id;
}

export const UNIT_LISTS = ["mixers", "benches", "proofers", "kettles", "ovens", "racks", "fridges"] as const;

/** "Deck oven east, deck-1": a unit, deck or shelf given as site/unit or site/unit/part. */
export function unitName(day: DayDocuments, ref: string): string {
  const [siteId, id, part] = ref.split("/");
  const site = day.network.sites.find((one) => one.id === siteId);
  const units = site
    ? UNIT_LISTS.flatMap((list): readonly { readonly id: string; readonly name?: string }[] => site[list])
    : [];
  return `${units.find((unit) => unit.id === id)?.name ?? id}${part === undefined ? "" : `, ${part}`}`;
}

export function crewName(day: DayDocuments, site: string, crew: string): string {
  const own = day.network.sites.find(({ id }) => id === site);
  return own?.crew.find(({ id }) => id === crew)?.name ?? crew;
}

export function productName(day: DayDocuments, id: string): string {
  return day.catalogue.products.find((product) => product.id === id)?.name ?? id;
}

/** "Ring and Baton for Quay shop", "every line". */
export function choiceWords(day: DayDocuments, of: LineChoice | undefined): string {
  if (!of || Object.keys(of).length === 0) return "every line";
  const list = (names: readonly string[]): string => {
    const shown = names.length > 4 ? [...names.slice(0, 3), `${names.length - 3} more`] : names;
    return shown.length > 1 ? `${shown.slice(0, -1).join(", ")} and ${shown.at(-1)}` : (shown[0] ?? "");
  };
  const parts = [
    of.products ? list(of.products.map((id) => productName(day, id))) : of.lines ? list(of.lines) : "every line",
  ];
  if (of.customers) parts.push(`for ${list(of.customers)}`);
  if (of.sites) parts.push(`for ${list(of.sites.map((id) => siteName(day, id)))}`);
  return parts.join(" ");
}

/** Minutes as a planner says them. */
export function minutesWords(minutes: number): string {
  const all = Math.abs(minutes);
  if (all % 60 === 0) return `${all / 60} h`;
  return all > 60 ? `${Math.floor(all / 60)} h ${all % 60} min` : `${all} min`;
}
