import type { DayDocuments, OrderLine } from "../../../schemas/index.js";
import { linesAsTold } from "../../../solver/problem/told.js";
import { msOf } from "./clock.js";
import { zoneAt } from "./new-day.js";
import type { Plan } from "./plan.js";
import { whenMs } from "./whens.js";

export type Fate = "on-time" | "late" | "short" | "not-drawn";

/** A line with what the timetable makes of it. */
export interface OrderRow {
  readonly line: OrderLine;
  readonly product: string;
  readonly forWhom: string;
  readonly site: string;
  readonly dueMs: number | undefined;
  readonly zone: string;
  readonly fate: Fate;
  /** "12 min late, 4 of 20 not made"; empty when all is well. */
  readonly trouble: string;
  readonly why: string;
  readonly readyMs: number | undefined;
  readonly madeAt: readonly string[];
  readonly vans: readonly string[];
  readonly loads: readonly string[];
}

interface Made {
  readonly sites: Set<string>;
  readonly vans: Set<string>;
  readonly loads: string[];
}

/** Where each line is made and what it rides on. */
function madeFor(plan: Plan): Map<string, Made> {
  const found = new Map<string, Made>();
  const runs = new Map(plan.day.network.vanRuns.map((run) => [run.id, run.name]));
  const trips = new Map(plan.timetable.vans.map((trip) => [trip.id, runs.get(trip.run) ?? trip.run]));
  for (const load of plan.timetable.loads) {
    const ride = plan.byLoad.get(load.id)?.find((task) => task.task.van !== undefined);
    for (const share of load.orders) {
      const made = found.get(share.line) ?? { sites: new Set(), vans: new Set(), loads: [] };
      made.sites.add(plan.sites.get(load.bakedAt)?.name ?? load.bakedAt);
      if (ride) made.vans.add(trips.get(ride.task.van!) ?? ride.task.van!);
      made.loads.push(load.id);
      found.set(share.line, made);
    }
  }
  return found;
}

/** Is the line as it was when the timetable was drawn: as many pieces (made or short), due then, of that product, for that site? */
function isDrawnFor(line: OrderLine, plan: Plan, loads: readonly string[]): boolean {
  const outcome = plan.outcomes.get(line.id);
  if (outcome === undefined || outcome.pieces + outcome.shortPieces !== line.pieces) return false;
  const dueMs = whenMs(line.due, zoneAt(plan.day, line.site));
  if (dueMs !== undefined && dueMs !== msOf(outcome.due)) return false;
  return loads.every((id) => {
    const load = plan.loads.get(id);
    return load === undefined || (load.product === line.product && load.deliveredTo === line.site);
  });
}

/** Lines that are not in the timetable as they are ordered now: what it says of them does not count. */
export function linesNotDrawn(plan: Plan): OrderLine[] {
  const loadsOf = new Map<string, string[]>();
  for (const load of plan.timetable.loads)
    for (const { line } of load.orders) loadsOf.set(line, [...(loadsOf.get(line) ?? []), load.id]);
  return linesAsTold(plan.day).filter((line) => !isDrawnFor(line, plan, loadsOf.get(line.id) ?? []));
}

/** Lines that the timetable still makes, and nobody orders any more: they were taken out, or cancelled. */
export function linesTakenOut(plan: Plan): string[] {
  const ordered = new Set(linesAsTold(plan.day).map(({ id }) => id));
  return plan.timetable.orders.flatMap(({ line }) => (ordered.has(line) ? [] : [line]));
}

/** Lines with how they fare; without a timetable none is drawn up yet. */
export function orderRows(lines: readonly OrderLine[], day: DayDocuments, plan: Plan | undefined): OrderRow[] {
  const made = plan && madeFor(plan);
  const products = new Map(day.catalogue.products.map(({ id, name }) => [id, name]));
  const sites = new Map(day.network.sites.map(({ id, name }) => [id, name]));
  return lines.map((line) => {
    const zone = zoneAt(day, line.site);
    const how = made?.get(line.id);
    const outcome = plan && isDrawnFor(line, plan, how?.loads ?? []) ? plan.outcomes.get(line.id) : undefined;
    const parts: string[] = [];
    if (outcome && outcome.lateMinutes > 0) parts.push(`${outcome.lateMinutes} min late`);
    if (outcome && outcome.shortPieces > 0) parts.push(`${outcome.shortPieces} of ${line.pieces} not made`);
    const fate: Fate = !outcome
      ? "not-drawn"
      : outcome.shortPieces > 0
        ? "short"
        : outcome.lateMinutes > 0
          ? "late"
          : "on-time";
    return {
      line,
      product: products.get(line.product) ?? line.product,
      forWhom: line.customer ?? "",
      site: sites.get(line.site) ?? line.site,
      dueMs: whenMs(line.due, zone),
      zone,
      fate,
      trouble: parts.join(", "),
      why: outcome?.why?.text ?? "",
      readyMs: outcome?.ready === undefined ? undefined : msOf(outcome.ready),
      madeAt: outcome ? [...(how?.sites ?? [])] : [],
      vans: outcome ? [...(how?.vans ?? [])] : [],
      loads: how?.loads ?? [],
    };
  });
}

export interface OrderFilter {
  readonly text: string;
  readonly site: string;
  readonly fate: Fate | "";
}

export function filterRows(rows: readonly OrderRow[], filter: OrderFilter): OrderRow[] {
  const words = filter.text
    .toLowerCase()
    .split(/\s+/)
    .filter((word) => word !== "");
  return rows.filter((row) => {
    if (filter.site !== "" && row.line.site !== filter.site) return false;
    if (filter.fate !== "" && row.fate !== filter.fate) return false;
    const text = `${row.line.id} ${row.product} ${row.forWhom} ${row.vans.join(" ")}`.toLowerCase();
    return words.every((word) => text.includes(word));
  });
}

export type SortKey = "line" | "product" | "pieces" | "due" | "fate";

const FATE_RANK: Readonly<Record<Fate, number>> = { short: 0, late: 1, "not-drawn": 2, "on-time": 3 };

export function sortRows(rows: readonly OrderRow[], key: SortKey, isDown: boolean): OrderRow[] {
  const sign = isDown ? -1 : 1;
  const by: Record<SortKey, (a: OrderRow, b: OrderRow) => number> = {
    line: (a, b) => a.line.id.localeCompare(b.line.id),
    product: (a, b) => a.product.localeCompare(b.product),
    pieces: (a, b) => a.line.pieces - b.line.pieces,
    due: (a, b) => (a.dueMs ?? 0) - (b.dueMs ?? 0),
    fate: (a, b) => FATE_RANK[a.fate] - FATE_RANK[b.fate],
  };
  return [...rows].sort((a, b) => sign * by[key](a, b) || a.line.id.localeCompare(b.line.id));
}

/** How a draft differs from what is stored. */
export function draftChanges(
  stored: readonly OrderLine[],
  draft: readonly OrderLine[],
): { added: number; changed: number; removed: number } {
  const before = new Map(stored.map((line) => [line.id, JSON.stringify(line)]));
  const after = new Set(draft.map((line) => line.id));
  let added = 0;
  let changed = 0;
  for (const line of draft) {
    const was = before.get(line.id);
    if (was === undefined) added++;
    else if (was !== JSON.stringify(line)) changed++;
  }
  return { added, changed, removed: stored.filter((line) => !after.has(line.id)).length };
}

/** Where a fault in the orders is, in words of the list: "line-018, product"; undefined when it is in no line. */
export function placeInOrders(lines: readonly OrderLine[], pointer: string | undefined): string | undefined {
  const [, index, field] = /^\/lines\/(\d+)(?:\/(\w+))?/.exec(pointer ?? "") ?? [];
  const line = index === undefined ? undefined : lines[Number(index)];
  return line && (field === undefined ? line.id : `${line.id}, ${field}`);
}

/** An id that is not in use: line-001 and so on. */
export function freshId(lines: readonly OrderLine[]): string {
  const taken = new Set(lines.map((line) => line.id));
  for (let n = lines.length + 1; ; n++) {
    const id = `line-${String(n).padStart(3, "0")}`;
    if (!taken.has(id)) return id;
  }
}
