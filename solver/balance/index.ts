import type { Balance, BalanceRound, DayDocuments, Timetable, Wish } from "../../schemas/index.js";
import { stationLoads } from "../compare/station-loads.js";
import { type DrawOptions, draw } from "../draw.js";
import { limitWords } from "../headroom/words.js";
import { balanceFlows, type Balance as Flows } from "../network/balance.js";
import type { Pool } from "../network/pools.js";
import { indexDay } from "../problem/day-index.js";
import { linesAsTold } from "../problem/told.js";
import { isChosen, siteName, withLines } from "../scenario/change.js";
import { account } from "./account.js";
import { planOf, wishWords, withFixedLines } from "./wishes.js";

export interface BalanceRequest {
  readonly wishes?: readonly Wish[];
  readonly seconds?: number;
  readonly iterations?: number;
  readonly seed?: number;
}

export type BalanceContext = Pick<DrawOptions, "lp" | "now" | "onProgress" | "shouldStop">;

/** The program is asked again with what timetables taught it at most so often. */
const ROUNDS = 3;
/** What a site could not follow is planned on so much less. */
const LESS = 0.85;
const DEFAULT_SECONDS = 10;

/**
 * Balances the sites: the network program says who makes what, a timetable is drawn up after it, and where a site could not follow the program is
 * asked again with less of what was wanting there; the cheapest timetable is kept. The cost of each wish is that of the program with all wishes
 * less that without it; where no program keeps them all there is no cost.
 */
export function balance(day: DayDocuments, request: BalanceRequest, context: BalanceContext): Balance {
  const wishes = request.wishes ?? [];
  const costWith = (own: readonly Wish[]): Flows => {
    const index = indexDay(withFixedLines(day, own));
    return balanceFlows(index, { lp: context.lp, ...planOf(index, own) });
  };
  const flows = costWith(wishes);
  const wishCosts = wishes.map((wish): Priced => {
    const told = { wish, text: wishWords(day, wish) };
    if (!flows.isSolved) return { ...told, ...whyUnkept(wish, wishes, costWith) };
    const without = costWith(wishes.filter((other) => other !== wish));
    return without.isSolved ? { ...told, cost: Math.max(0, rounded(flows.cost - without.cost)) } : told;
  });
  const fixed = wishes.length > 0 ? followingFlows(withFixedLines(day, wishes), flows) : day;
  const learnt = new Map<string, number>();
  const rounds: BalanceRound[] = [];
  let best: Timetable | null = null;
  for (let round = 0; round < ROUNDS && !(round > 0 && context.shouldStop?.()); round++) {
    const { timetable, breaches } = draw(fixed, {
      ...context,
      ...budgetOf(request),
      plan: {
        ...planOf(indexDay(fixed), wishes),
        share: (pool: Pool) => learnt.get(`${pool.kind} ${pool.site}`),
      },
    });
    if (breaches.length > 0) throw new Error(`the timetable breaks ${breaches[0]!.rule}: ${breaches[0]!.message}`);
    if (!best || timetable.cost.total < best.cost.total) best = timetable;
    const taught = teach(day, timetable, learnt);
    rounds.push({
      cost: timetable.cost.total,
      linesOnTime: timetable.orders.filter(({ state }) => state === "on-time").length,
      shortPieces: shortOf(timetable),
      learnt: taught,
    });
    if (taught.length === 0) break;
  }
  const found = balanceOf(day, best!, flows, wishCosts, rounds);
  if (wishes.length === 0 || shortOf(best!) === 0 || context.shouldStop?.()) return found;
  const plan = planOf(indexDay(day), []);
  return { ...found, shortWithoutWishes: shortOf(draw(day, { ...context, ...budgetOf(request), plan }).timetable) };
}

function shortOf({ orders }: Timetable): number {
  return orders.reduce((sum, { shortPieces }) => sum + shortPieces, 0);
}

/** With wishes a part is for the timetable without them. */
function budgetOf({
  wishes,
  seconds,
  iterations,
  seed,
}: BalanceRequest): Pick<DrawOptions, "seconds" | "iterations" | "seed"> {
  const parts = ROUNDS + (wishes && wishes.length > 0 ? 1 : 0);
  return {
    ...(iterations === undefined ? { seconds: (seconds ?? DEFAULT_SECONDS) / parts } : { iterations }),
    ...(seed === undefined ? {} : { seed }),
  };
}

type Priced = Omit<Balance["wishes"][number], "sharePercent" | "isKept">;

/** Of wishes that the program cannot keep all: whether this is one of those in the way, and the most that a site can bake of all pieces. */
function whyUnkept(
  wish: Wish,
  wishes: readonly Wish[],
  costWith: (own: readonly Wish[]) => Flows,
): Pick<Priced, "cannotBeKept" | "atMostPercent"> {
  if (wish.kind !== "share") return {};
  const fixing = wishes.filter(({ kind }) => kind === "bake-at");
  const alone = costWith([...fixing, wish]);
  return alone.isSolved
    ? { cannotBeKept: "together" }
    : { cannotBeKept: "alone", atMostPercent: mostShare(wish.site, alone) };
}

/** Every piece of a family that has a way to be baked at a site, of all pieces. */
function mostShare(site: string, { program }: Flows): number {
  const able = new Set(program.columns.flatMap(({ family, chain }) => (chain.way.bakeSite === site ? [family] : [])));
  const all = program.families.reduce((sum, { pieces }) => sum + pieces, 0);
  const own = program.families.reduce((sum, { pieces }, f) => sum + (able.has(f) ? pieces : 0), 0);
  return all > 0 ? Math.floor((1000 * own) / all) / 10 : 0;
}

function rounded(value: number): number {
  return Math.round(value * 100) / 100;
}

/** Lines fixed to the site where the program bakes most of them, so that the timetable keeps the wishes. */
function followingFlows(day: DayDocuments, { program, point }: Flows): DayDocuments {
  const sites = new Map<string, Map<string, number>>();
  program.columns.forEach(({ family, chain }, c) => {
    const pieces = point.pieces[c]!;
    if (pieces < 1e-6) return;
    for (const { line } of program.families[family]!.wants) {
      const own = sites.get(line.id) ?? new Map<string, number>();
      sites.set(line.id, own.set(chain.way.bakeSite, (own.get(chain.way.bakeSite) ?? 0) + pieces));
    }
  });
  return withLines(day, (line) => {
    const [most] = [...(sites.get(line.id) ?? [])].sort((a, b) => b[1] - a[1] || (a[0] < b[0] ? -1 : 1));
    return most && line.madeAt === undefined ? { ...line, madeAt: most[0] } : line;
  });
}

const TEACHING = new Set([
  "mixer",
  "bench",
  "crew",
  "kettle",
  "deck-positions",
  "fridge-positions",
  "proofer-positions",
  "rack-positions",
]);

/** What held lines back is planned on less; returned in words. */
function teach(day: DayDocuments, timetable: Timetable, learnt: Map<string, number>): string[] {
  const wanting = new Map<string, { site: string; kind: Pool["kind"]; lines: number }>();
  for (const { why } of timetable.orders) {
    if (!why?.site || why.code === "stopped" || !TEACHING.has(why.code)) continue;
    const key = `${why.code} ${why.site}`;
    const known = wanting.get(key) ?? { site: why.site, kind: why.code, lines: 0 };
    wanting.set(key, { ...known, lines: known.lines + 1 });
  }
  return [...wanting].map(([key, { site, kind, lines }]) => {
    learnt.set(key, (learnt.get(key) ?? 1) * LESS);
    return `${limitWords(kind)} at ${siteName(day, site)} held back ${lines} ${lines === 1 ? "line" : "lines"}: planned on ${Math.round(100 * learnt.get(key)!)} % of them`;
  });
}

function balanceOf(
  day: DayDocuments,
  timetable: Timetable,
  flows: Flows,
  wishes: Balance["wishes"],
  rounds: readonly BalanceRound[],
): Balance {
  const made = account(day, timetable);
  return {
    format: "balance/1",
    name: day.settings.name,
    ...made,
    loads: stationLoads(day, timetable),
    wishes: wishes.map((entry) => ({ ...entry, ...cameOf(day, entry.wish, timetable, made.sites) })),
    ...(flows.isSolved ? { programCost: rounded(flows.cost) } : {}),
    rounds: [...rounds] as Balance["rounds"],
    timetable,
  };
}

/** What came of a wish for a share, or for lines at a site, in the timetable. */
function cameOf(
  day: DayDocuments,
  wish: Wish,
  timetable: Timetable,
  sites: Balance["sites"],
): { sharePercent?: number; isKept?: boolean } {
  if (wish.kind === "home") return {};
  if (wish.kind === "bake-at") return { isKept: areBakedAt(day, wish, timetable) };
  const sharePercent = sites.find(({ site }) => site === wish.site)?.sharePercent;
  if (sharePercent === undefined) return {};
  return { sharePercent, isKept: sharePercent >= wish.leastPercent && sharePercent <= wish.mostPercent };
}

/** Every piece of the lines is baked at the site. */
function areBakedAt(day: DayDocuments, wish: Extract<Wish, { kind: "bake-at" }>, { loads }: Timetable): boolean {
  const baked = new Map<string, number>();
  for (const load of loads.filter(({ bakedAt }) => bakedAt === wish.site))
    for (const { line, pieces } of load.orders) baked.set(line, (baked.get(line) ?? 0) + pieces);
  return linesAsTold(day)
    .filter((line) => isChosen(line, wish.of))
    .every(({ id, pieces }) => (baked.get(id) ?? 0) >= pieces);
}
