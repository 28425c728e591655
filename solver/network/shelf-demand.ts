import { tubsFor } from "../problem/containers.js";
import type { LoadSpec } from "../problem/explode.js";
import type { Balance } from "./balance.js";
import type { FlowColumn } from "./columns.js";

/** Containers in a column's fridges. */
function containers(balance: Balance, column: FlowColumn, c: number): { per: "tub" | "pan"; amount: number } | null {
  const { chain } = column;
  if (!chain.links.some((link) => link.does === "retard")) return null;
  const per = chain.tubRate > 0 ? "tub" : "pan";
  const rate = per === "tub" ? chain.tubRate : chain.panRate;
  const amount = balance.point.pieces[c]! * rate + balance.point.spare[per][c]!;
  return amount > 1e-6 ? { per, amount } : null;
}

/** Containers of a kind at a site: so many are likely to stand at once, and so many will, however their times fall. */
export interface Standing {
  readonly likely: number;
  readonly least: number;
}

/**
 * The most containers of each kind that stand in a site's fridges at once, by site and kind ("tub x", "pan y"), as the flows have them; scaled,
 * product by product, to the tubs that the loads really take.
 */
export function shelfDemand(balance: Balance, loads: readonly LoadSpec[]): Map<string, Standing> {
  const { program } = balance;
  const { index, families } = program;
  const keyOf = (column: FlowColumn): string =>
    `${families[column.family]!.product} ${families[column.family]!.deliverTo}`;
  const pieces = new Map<string, number>();
  const flowTubs = new Map<string, { tubs: number; pieces: number }>();
  program.columns.forEach((column, c) => {
    const key = keyOf(column);
    pieces.set(key, (pieces.get(key) ?? 0) + balance.point.pieces[c]!);
    const found = containers(balance, column, c);
    if (found?.per !== "tub") return;
    const sum = flowTubs.get(key) ?? { tubs: 0, pieces: 0 };
    flowTubs.set(key, { tubs: sum.tubs + found.amount, pieces: sum.pieces + balance.point.pieces[c]! });
  });
  const loadTubs = new Map<string, number>();
  for (const load of loads) {
    const dough = index.doughs.get(index.products.get(load.product)!.dough)!;
    const tubs = Math.max(1, tubsFor(index, dough, index.sites.get(load.mixSite)!, load.doughG).length);
    const key = `${load.product} ${load.deliverTo}`;
    loadTubs.set(key, (loadTubs.get(key) ?? 0) + tubs);
  }
  const scaleOf = (key: string): number => {
    const flow = flowTubs.get(key);
    const all = pieces.get(key) ?? 0;
    if (!flow || flow.tubs <= 0 || all <= 0) return 1;
    return Math.max(1, ((loadTubs.get(key) ?? 0) * (flow.pieces / all)) / flow.tubs);
  };
  const likely = new Map<string, Float64Array>();
  const least = new Map<string, Float64Array>();
  program.columns.forEach((column, c) => {
    const found = containers(balance, column, c);
    if (!found) return;
    const { chain, windows } = column;
    const product = index.products.get(families[column.family]!.product)!;
    const dough = index.doughs.get(product.dough)!;
    const kind = found.per === "tub" ? `tub ${dough.tubType}` : `pan ${product.panType}`;
    const amount = found.amount * (found.per === "tub" ? scaleOf(keyOf(column)) : 1);
    const add = (lines: Map<string, Float64Array>, site: string, from: number, to: number): void => {
      const key = `${site} ${kind}`;
      const line = lines.get(key) ?? new Float64Array(index.horizon);
      lines.set(key, line);
      for (let t = Math.max(0, from); t < Math.min(index.horizon, to); t++) line[t] = line[t]! + amount;
    };
    const retard = chain.links.findIndex((link) => link.does === "retard");
    const middle = (from: Int32Array, to: Int32Array): number => Math.round((from[retard]! + to[retard]!) / 2);
    const { startFrom, startTo, endFrom, endTo } = windows;
    const { trip } = chain.way;
    for (const [lines, start, end] of [
      [likely, middle(startFrom, startTo), middle(endFrom, endTo)],
      [least, startTo[retard]!, endFrom[retard]!],
    ] as const) {
      if (chain.coldRide >= 0 && trip) {
        add(lines, chain.way.mixSite, start, trip.leave);
        add(lines, chain.way.bakeSite, trip.delivered, end);
      } else add(lines, chain.way.mixSite, start, end);
    }
  });
  const most = (line: Float64Array): number => line.reduce((greatest, value) => Math.max(greatest, value), 0);
  return new Map([...likely].map(([key, line]) => [key, { likely: most(line), least: most(least.get(key)!) }]));
}
