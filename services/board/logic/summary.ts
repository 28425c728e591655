import type { CostPart, OrderOutcome } from "../../../schemas/index.js";
import { linesNotDrawn, linesTakenOut } from "./orders.js";
import type { Plan } from "./plan.js";

export interface Tally {
  readonly orders: number;
  readonly onTime: number;
  readonly late: number;
  readonly short: number;
  /** Ordered otherwise since the timetable was drawn, or not in it at all. */
  readonly notDrawn: number;
}

/** What the timetable says of lines that are still ordered as it has them. */
function counting(plan: Plan): OrderOutcome[] {
  const not = new Set([...linesNotDrawn(plan).map(({ id }) => id), ...linesTakenOut(plan)]);
  return plan.timetable.orders.filter(({ line }) => !not.has(line));
}

export function tally(plan: Plan): Tally {
  const undrawn = linesNotDrawn(plan).length;
  const orders = counting(plan);
  return {
    orders: orders.length + undrawn,
    notDrawn: undrawn,
    onTime: orders.filter((order) => order.state === "on-time").length,
    late: orders.filter((order) => order.lateMinutes > 0).length,
    short: orders.filter((order) => order.shortPieces > 0).length,
  };
}

/** Late or short orders, the worst first: short pieces, then minutes late. */
export function wanting(plan: Plan): OrderOutcome[] {
  return counting(plan)
    .filter((order) => order.state !== "on-time")
    .sort((a, b) => weight(plan, b) - weight(plan, a) || a.line.localeCompare(b.line));
}

function weight(plan: Plan, order: OrderOutcome): number {
  const priority = plan.lines.get(order.line)?.priority ?? 1;
  return priority * (order.shortPieces * 1000 + order.lateMinutes);
}

/** Loads that serve an order that is late. */
export function lateLoads(plan: Plan): Set<string> {
  const late = new Set(
    counting(plan)
      .filter((order) => order.lateMinutes > 0)
      .map((order) => order.line),
  );
  return new Set(
    plan.timetable.loads.filter((load) => load.orders.some((share) => late.has(share.line))).map((load) => load.id),
  );
}

export const COST_WORDS: Readonly<Record<CostPart["for"], string>> = {
  short: "Pieces not made",
  late: "Pieces late",
  early: "Ready long before due",
  "oven-energy": "Ovens on",
  "kettle-energy": "Kettles on",
  "setpoint-changes": "Deck temperature changes",
  overtime: "Overtime",
  "van-runs": "Van runs",
};

export function quantityText(part: CostPart): string {
  const n = Math.round(part.quantity);
  return `${n.toLocaleString("en-GB")} ${part.unit.replace("-", " ")}`;
}

/** An amount with the currency, or bare when the day has none. */
export function money(amount: number, currency: string | undefined): string {
  const text = amount.toLocaleString("en-GB", { minimumFractionDigits: 2, maximumFractionDigits: 2 });
  return currency && currency !== "XXX" ? `${text} ${currency}` : text;
}

/** "12 min late, 4 of 20 not made". */
export function wantText(order: OrderOutcome, pieces: number): string {
  const parts: string[] = [];
  if (order.lateMinutes > 0) parts.push(`${order.lateMinutes} min late`);
  if (order.shortPieces > 0)
    parts.push(order.shortPieces === pieces ? `none of ${pieces} made` : `${order.shortPieces} of ${pieces} not made`);
  return parts.join(", ");
}
