import { dueOf, type Facts } from "./facts.js";
import { instantSeconds } from "./time.js";

/** R1: the pieces of an order are the pieces of the loads given to it and the declared shortage. */
export function checkCoverage(facts: Facts): void {
  const { report, day, timetable } = facts;
  const given = new Map<string, number>();
  const { lines, outcomes } = facts;
  for (const { load } of facts.loads) {
    let shared = 0;
    for (const { line, pieces } of load.orders) {
      shared += pieces;
      given.set(line, (given.get(line) ?? 0) + pieces);
      const order = lines.get(line)?.line;
      if (!order) report.add("R1", "unknown-line", `load ${load.id} is for order ${line}, which does not exist`);
      else if (order.product !== load.product || order.site !== load.deliveredTo) {
        report.add(
          "R1",
          "wrong-product-or-site",
          `load ${load.id} (${load.product} for ${load.deliveredTo}) is given to order ${line} (${order.product} for ${order.site})`,
        );
      } else if (order.madeAt !== undefined && order.madeAt !== load.bakedAt) {
        report.add(
          "R1",
          "not-made-where-fixed",
          `order ${line} is fixed to ${order.madeAt}, but load ${load.id} is baked at ${load.bakedAt}`,
        );
      }
    }
    const lost = load.lostPieces ?? 0;
    if (load.scrapped && load.orders.length > 0)
      report.add("R1", "scrapped-given", `load ${load.id} is scrapped, but given to order ${load.orders[0]!.line}`);
    if (shared + load.surplusPieces + lost !== load.pieces) {
      report.add(
        "R1",
        "load-pieces",
        `load ${load.id} has ${load.pieces} pieces, but ${shared} are given to orders, ${load.surplusPieces} are surplus and ${lost} lost`,
      );
    }
  }
  for (const { line } of timetable.orders)
    if (!lines.has(line))
      report.add("R1", "unknown-line", `an outcome is given for order ${line}, which does not exist`);
  for (const line of day.orders.lines) {
    const outcome = outcomes.get(line.id);
    const made = given.get(line.id) ?? 0;
    if (!outcome) {
      report.add("R1", "order-missing", `order ${line.id} has no outcome`);
      continue;
    }
    if (outcome.pieces !== made)
      report.add(
        "R1",
        "order-pieces",
        `order ${line.id} is said to get ${outcome.pieces} pieces, its loads have ${made}`,
      );
    if (made + outcome.shortPieces !== line.pieces) {
      report.add(
        "R1",
        "order-coverage",
        `order ${line.id} wants ${line.pieces} pieces: ${made} are made and ${outcome.shortPieces} declared short`,
      );
    }
  }
}

/** The outcome of each order says what its loads' tasks give. */
export function checkOutcomes(facts: Facts): void {
  const { report, day, outcomes } = facts;
  const delivered = new Map<string, number>();
  for (const { load, delivered: at } of facts.loads) {
    for (const { line } of load.orders)
      delivered.set(line, Math.max(delivered.get(line) ?? Number.NEGATIVE_INFINITY, at));
  }
  for (const line of day.orders.lines) {
    const outcome = outcomes.get(line.id);
    const due = dueOf(facts, line);
    if (!outcome || due === undefined) continue;
    const ready = delivered.get(line.id);
    if (instantSeconds(outcome.due) / 60 !== due)
      report.add("R13", "due", `order ${line.id} is due at ${line.due}, its outcome says ${outcome.due}`);
    if (ready !== undefined && (outcome.ready === undefined || instantSeconds(outcome.ready) / 60 !== ready)) {
      report.add(
        "R13",
        "ready",
        `order ${line.id} is said to be ready at ${outcome.ready ?? "no time"}, its last load is delivered otherwise`,
      );
    }
    if (ready === undefined && outcome.ready !== undefined)
      report.add("R13", "ready", `order ${line.id} is said to be ready, but nothing is made for it`);
    const late = ready === undefined ? 0 : Math.max(0, ready - due);
    if (outcome.lateMinutes !== late)
      report.add(
        "R13",
        "late-minutes",
        `order ${line.id} is ${late} min late, its outcome says ${outcome.lateMinutes}`,
      );
    const state = outcome.shortPieces > 0 ? (late > 0 ? "late-and-short" : "short") : late > 0 ? "late" : "on-time";
    if (outcome.state !== state)
      report.add("R13", "state", `order ${line.id} is ${state}, its outcome says ${outcome.state}`);
  }
}
