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

/**
 * The most containers of each kind that stand in a site's fridges at once, by site and kind ("tub x", "pan y"), as the flows have them; scaled,
 * product by product, to the tubs that the loads really take.
 */
export function shelfDemand(balance: Balance, loads: readonly LoadSpec[]): Map<string, number> {
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
  const lines = new Map<string, Float64Array>();
  program.columns.forEach((column, c) => {
    const found = containers(balance, column, c);
    if (!found) return;
    const { chain, windows } = column;
    const product = index.products.get(families[column.family]!.product)!;
    const dough = index.doughs.get(product.dough)!;
    const kind = found.per === "tub" ? `tub ${dough.tubType}` : `pan ${product.panType}`;
    const amount = found.amount * (found.per === "tub" ? scaleOf(keyOf(column)) : 1);
    const add = (site: string, from: number, to: number): void => {
      const key = `${site} ${kind}`;
      const line = lines.get(key) ?? new Float64Array(index.horizon);
      lines.set(key, line);
      for (let t = Math.max(0, from); t < Math.min(index.horizon, to); t++) line[t] = line[t]! + amount;
    };
    const retard = chain.links.findIndex((link) => link.does === "retard");
    const start = Math.round((windows.startFrom[retard]! + windows.startTo[retard]!) / 2);
    const end = Math.round((windows.endFrom[retard]! + windows.endTo[retard]!) / 2);
    const { trip } = chain.way;
    if (chain.coldRide >= 0 && trip) {
      add(chain.way.mixSite, start, trip.leave);
      add(chain.way.bakeSite, trip.delivered, end);
    } else add(chain.way.mixSite, start, end);
  });
  return new Map([...lines].map(([key, line]) => [key, line.reduce((most, value) => Math.max(most, value), 0)]));
}
