import type { Reason } from "../schemas/index.js";
import type { Problem } from "./problem/index.js";
import { createRng } from "./rng.js";
import { Draft } from "./search/draft.js";
import { type PlanCopy, rebuild } from "./search/plan.js";
import { whyNobodyMakes } from "./why-not.js";

/** What may be wanting, in the order in which it is tried, and how a planner says it. */
const WANTING: readonly (readonly [Reason["code"], string])[] = [
  ["deck-positions", "deck positions at the temperature"],
  ["kettle", "kettle time"],
  ["crew", "people"],
  ["bench", "bench places"],
  ["fridge-positions", "shelf positions"],
  ["fridge-heat", "cooling power of the fridge"],
  ["proofer-positions", "proofer positions"],
  ["rack-positions", "rack positions"],
  ["pans", "pans"],
  ["tubs", "tubs"],
  ["mixer", "mixer time"],
  ["van", "van positions"],
];

/** The same when the whole batch is mixed anew; first with nothing more than there is. */
const REMIXED: typeof WANTING = [["waits", ""], ...WANTING];

/** More of everything than any day needs, and yet far from overflow. */
const PLENTY = 1_000_000;
/** Asking takes some milliseconds a load; a day on which everything is late needs no more examples. */
const MOST_LOADS = 60;

class Asker {
  private readonly problem: Problem;
  private readonly draft: Draft;
  private usableOf = -1;
  private usableRows: readonly number[] = [];

  constructor(problem: Problem, plan: PlanCopy) {
    this.problem = problem;
    this.draft = new Draft(problem.model, createRng(1), rebuild(problem.model, plan));
  }

  /** Was the batch mixed earlier than in the plan when it was last asked? */
  private isMixedEarlier = false;

  /** When the load would be delivered if everything of these kinds were plentiful; null when it still has no place. */
  private deliveredWith(load: number, kinds: readonly string[], remix = false): number | null {
    const { state, inserter, mixes, model, rng } = this.draft;
    const { batch, dropCost } = model.loads[load]!;
    const rows = this.rowsOf(load, kinds);
    const mixedBefore = state.mixOption[batch]! >= 0 ? state.mixStart[batch]! : Number.POSITIVE_INFINITY;
    this.shift(rows, PLENTY);
    if (remix) this.draft.removeBatch(batch);
    else this.draft.removeLoad(load);
    let delivered: number | null = null;
    const isMixed = state.mixOption[batch]! >= 0 || mixes.pick(batch, "latest", rng);
    if (isMixed) {
      if (state.mixOption[batch]! < 0) this.draft.mix(batch);
      this.isMixedEarlier = state.mixStart[batch]! < mixedBefore;
      if (inserter.find(load, dropCost)) delivered = inserter.delivered(load);
    }
    this.draft.reject();
    this.shift(rows, -PLENTY);
    return delivered;
  }

  /** The rows of these kinds that the load or its mix can use. */
  private rowsOf(load: number, kinds: readonly string[]): number[] {
    const { meanings } = this.problem.prepared.book;
    return this.usable(load).filter((row) => kinds.includes(meanings[row]!.kind));
  }

  /** Every row that the load or its mix can use, whatever the mode. */
  private usable(load: number): readonly number[] {
    if (this.usableOf === load) return this.usableRows;
    const { batch, modes } = this.draft.model.loads[load]!;
    const rows = new Set<number>();
    const addAll = (list: Iterable<number>): void => {
      for (const row of list) if (row >= 0) rows.add(row);
    };
    for (const { row, crew } of this.draft.model.batches[batch]!.options) addAll([row, ...(crew?.rows ?? [])]);
    for (const { holds, operations, spans, trip } of modes) {
      for (const hold of holds) {
        addAll(hold.rows);
        addAll(hold.heatRows);
        addAll(hold.ride?.rows ?? []);
      }
      for (const { alternatives, crew } of operations) {
        for (const { row } of alternatives) if (row >= 0) rows.add(row);
        addAll(crew?.rows ?? []);
      }
      addAll(spans.map((span) => span.row));
      if (trip >= 0) rows.add(this.draft.model.trips[trip]!.row);
    }
    this.usableOf = load;
    this.usableRows = [...rows];
    return this.usableRows;
  }

  private shift(rows: readonly number[], amount: number): void {
    const { free, horizon } = this.draft.state;
    for (const row of rows) {
      for (let i = row * horizon; i < (row + 1) * horizon; i++) free[i] = free[i]! + amount;
    }
  }

  /** The first kind of thing whose plenty alone would make the load on time, else that would help most. */
  reason(load: number, nowDelivered: number | null, due: number): Reason {
    const site = this.problem.loads[load]!.mixSite;
    let helps: { code: Reason["code"]; words: string; delivered: number } | null = null;
    for (const [code, words] of WANTING) {
      const delivered = this.deliveredWith(load, [code]);
      if (delivered === null || (nowDelivered !== null && delivered >= nowDelivered)) continue;
      if (delivered <= due) return { code, site, text: `Not enough ${words}: with more it would be on time.` };
      if (!helps || delivered < helps.delivered) helps = { code, words, delivered };
    }
    if (helps) {
      const text = `Not enough ${helps.words}: with more it would be ready ${helps.delivered - due} min after due instead${nowDelivered === null ? " of not at all" : ` of ${nowDelivered - due} min`}.`;
      return { code: helps.code, site, text };
    }
    for (const [code, words] of REMIXED) {
      const delivered = this.deliveredWith(load, code === "waits" ? [] : [code], true);
      // Mixed no earlier, it only has what other loads of its batch had.
      if (delivered === null || delivered > due || !this.isMixedEarlier) continue;
      const text =
        code === "waits"
          ? "Its batch is mixed too late for its least times; an earlier mix would do, at the cost of other loads."
          : `Not enough ${words} for an earlier mix: with more it would be on time.`;
      return { code, site, text };
    }
    const everything = WANTING.map(([code]) => code);
    const all = this.deliveredWith(load, everything, true);
    if (all !== null && all <= due) {
      return { code: "several", site, text: "Several things at once are wanting; no single one would do." };
    }
    if (all === null) {
      return {
        code: "window",
        site,
        text: "The steps do not fit between the start of the window, the hours in which people work and the greatest waits.",
      };
    }
    return {
      code: "waits",
      site,
      text: `The route's own least times end ${all - due} min after due, whatever there is.`,
    };
  }
}

/** Why each late or short line is so, by line id: each of its loads is asked again with one thing plentiful. */
export function explain(problem: Problem, plan: PlanCopy): Map<string, Reason> {
  const reasons = new Map<string, Reason>();
  const known = new Map<string, string>();
  for (const load of problem.unmakeable) {
    if (load.portions.every(({ want }) => reasons.has(want.line.id))) continue;
    const key = `${load.product} ${load.deliverTo} ${load.madeAt} ${load.pans}`;
    const text = known.get(key) ?? whyNobodyMakes(problem, load);
    known.set(key, text);
    for (const { want } of load.portions) reasons.set(want.line.id, { code: "window", site: load.deliverTo, text });
  }
  const asker = new Asker(problem, plan);
  let asked = 0;
  problem.loads.forEach((spec, load) => {
    const isMade = plan.mode[load]! >= 0;
    const deliveredAt = isMade ? problem.model.loads[load]!.modes[plan.mode[load]!]!.deliveredAt : -1;
    const delivered = isMade ? (deliveredAt >= 0 ? deliveredAt : plan.finish[load]!) : null;
    const wanting = spec.portions.filter(({ want }) => delivered === null || delivered > want.due);
    if (wanting.length === 0 || wanting.every(({ want }) => reasons.has(want.line.id)) || asked >= MOST_LOADS) return;
    asked++;
    const reason = asker.reason(load, delivered, Math.min(...wanting.map(({ want }) => want.due)));
    for (const { want } of wanting) if (!reasons.has(want.line.id)) reasons.set(want.line.id, reason);
  });
  return reasons;
}
