import type { CostPart, DayDocuments, Timetable } from "../../schemas/index.js";
import { type Breach, linesAsTold } from "../../solver/index.js";
import { Names } from "./names.js";
import { table } from "./table.js";

const COST_WORDS: Record<CostPart["for"], string> = {
  short: "Short pieces",
  late: "Late pieces",
  early: "Ready long before due",
  "oven-energy": "Ovens on",
  "kettle-energy": "Kettles on",
  "setpoint-changes": "Setpoint changes",
  overtime: "Overtime",
  "van-runs": "Van runs",
};

/** How a drawing went, beyond what the timetable itself says. */
export interface DrawFigures {
  readonly firstPlanMs: number;
  readonly elapsedMs: number;
}

function count(n: number, one: string, many = `${one}s`): string {
  return `${n} ${n === 1 ? one : many}`;
}

function seconds(ms: number): string {
  return `${(ms / 1000).toFixed(1)} s`;
}

function headline(timetable: Timetable): string {
  const late = timetable.orders.filter((order) => order.lateMinutes > 0).length;
  const short = timetable.orders.filter((order) => order.shortPieces > 0).length;
  const onTime = timetable.orders.filter((order) => order.state === "on-time").length;
  const all = timetable.orders.length;
  const head = `${onTime} of ${count(all, "order")} on time`;
  const rest = [late > 0 ? `${late} late` : "", short > 0 ? `${short} short` : ""].filter((text) => text !== "");
  return rest.length > 0 ? `${head}; ${rest.join(", ")}` : `${head}.`;
}

/** One screen: how many orders are on time, what was placed, what it costs. */
export function summaryText(day: DayDocuments, timetable: Timetable, figures?: DrawFigures): string {
  const pieces = timetable.loads.reduce((sum, load) => sum + load.pieces, 0);
  const pans = timetable.loads.reduce((sum, load) => sum + load.pans, 0);
  const names = new Names(day, timetable);
  const first = day.network.sites[0]!.id;
  const lines = [
    day.settings.name,
    `${names.date(timetable.window.from, first)} ${names.time(timetable.window.from, first)} to ${names.date(timetable.window.to, first)} ${names.time(timetable.window.to, first)}`,
    "",
    headline(timetable),
    `${count(pieces, "piece")} on ${count(pans, "pan")} in ${count(timetable.loads.length, "load")} from ${count(timetable.batches.length, "batch", "batches")}; ${count(timetable.tasks.length, "task")} at ${count(day.network.sites.length, "site")}; ${count(timetable.vans.length, "van trip")}.`,
  ];
  if (figures)
    lines.push(
      `First plan after ${seconds(figures.firstPlanMs)}, this one after ${seconds(figures.elapsedMs)} and ${timetable.iterations} tries (seed ${timetable.seed}).`,
    );
  lines.push("", ...costLines(day, timetable));
  return lines.join("\n");
}

function costLines(day: DayDocuments, timetable: Timetable): string[] {
  const currency = day.settings.currency ?? "";
  const rows = timetable.cost.parts
    .filter((part) => part.amount > 0)
    .map((part) => [`  ${COST_WORDS[part.for]}`, part.amount.toFixed(2), `${Math.round(part.quantity)} ${part.unit}`]);
  const bound =
    timetable.bound === undefined
      ? ""
      : `at best ${timetable.bound.toFixed(2)} (gap ${(timetable.gapPercent ?? 0).toFixed(1)} %)`;
  return [`Cost ${currency}`.trim(), ...table([...rows, ["  Total", timetable.cost.total.toFixed(2), bound]], [1])];
}

/** The orders that are late or short, each with its reason. */
export function wantingText(day: DayDocuments, timetable: Timetable): string {
  const names = new Names(day, timetable);
  const lines = new Map(linesAsTold(day).map((line) => [line.id, line]));
  const rows: string[] = [];
  for (const order of timetable.orders) {
    const line = lines.get(order.line);
    if (order.state === "on-time" || !line) continue;
    const what = [
      order.lateMinutes > 0 ? `${order.lateMinutes} min late` : "",
      order.shortPieces > 0 ? `${order.shortPieces} of ${line.pieces} short` : "",
    ]
      .filter((text) => text !== "")
      .join(", ");
    rows.push(
      `  ${order.line}: ${line.pieces} ${names.product(line.product)} for ${names.site(line.site)}, due ${names.time(order.due, line.site)}: ${what}.`,
    );
    if (order.why) rows.push(`      ${order.why.text}`);
  }
  return rows.length === 0 ? "" : ["Late or short", ...rows].join("\n");
}

/** What the verifier found, one line each. */
export function breachText(breaches: readonly Breach[]): string {
  if (breaches.length === 0) return "Sound: no rule is broken.";
  const rules = new Set(breaches.map((breach) => breach.rule));
  return [
    `Refused: ${count(breaches.length, "breach", "breaches")} of ${count(rules.size, "rule")}.`,
    ...breaches.map((breach) => `  ${breach.rule} ${breach.code}: ${breach.message}`),
  ].join("\n");
}
