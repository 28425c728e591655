import { describe, expect, it } from "vitest";
import type { DayChange, DayDocuments, Timetable } from "../../schemas/index.js";
import { validateDocument } from "../../schemas/validate.js";
import { operationNamed } from "../../services/operations/index.js";
import type { RunContext } from "../../services/operations/operation.js";
import { checkDay } from "../../solver/check/index.js";
import { draw } from "../../solver/index.js";
import { createRng, type Rng } from "../../solver/rng.js";
import { randomDay } from "../days/random-day.js";
import { randomMorning } from "../days/random-morning.js";
import { loadLp } from "../support/lp.js";

/** Whatever can be asked of a day is answered in every state of it: not drawn up yet, with pins, in the middle of a morning. */
const LONG = process.env.DECKSHELF_LONG === "1";
const FIRST = Number(process.env.DECKSHELF_SEED ?? (LONG ? 40_000 : 1));
const DAYS = Number(process.env.DECKSHELF_DAYS ?? (LONG ? 600 : 14));
const lp = await loadLp();

function pick<T>(rng: Rng, list: readonly T[]): T {
  return list[rng.below(list.length)]!;
}

/** Something that a planner might want to see beside the day as it is. */
function changeOf({ network, orders, catalogue }: DayDocuments, table: Timetable, rng: Rng): DayChange {
  const site = pick(rng, network.sites);
  const line = pick(rng, orders.lines);
  const { mixers, fridges, ovens, benches, kettles, proofers, racks, crew } = site;
  const unit = `${site.id}/${pick(rng, [...mixers, ...fridges, ...ovens, ...benches, ...kettles, ...proofers, ...racks]).id}`;
  const [group] = crew;
  const [run] = network.vanRuns;
  const { routes } = catalogue.products.find(({ id }) => id === line.product)!;
  return pick<DayChange>(rng, [
    { kind: "multiply-orders", times: pick(rng, [0.5, 1.3, 2]) },
    { kind: "add-line", line: { ...line, id: "called-in", pieces: 5 } },
    { kind: "drop-lines", of: { lines: [line.id] } },
    { kind: "move-due", minutesLater: pick(rng, [-240, -60, 60, 300]) },
    { kind: "bake-at", of: { lines: [line.id] }, site: site.id },
    { kind: "another-unit", like: unit },
    { kind: "start-earlier", minutes: 60 },
    { kind: "only-routes", products: [line.product], routes: [routes[0]!.id] },
    { kind: "unplanned", happening: { kind: "out-of-service", unit, from: table.tasks[0]!.start } },
    ...(group ? [{ kind: "shift-hours" as const, site: site.id, crew: group.id, minutesEarlier: 60 }] : []),
    ...(run ? [{ kind: "another-run" as const, like: run.id, departs: "04:00" }] : []),
  ]);
}

/** A clock that goes on at every look: each operation takes the same course every time, and not long. */
function contextOf(): RunContext {
  let ms = 0;
  const now = (): number => {
    ms += 40;
    return ms;
  };
  return { now, lp, onProgress: () => undefined, shouldStop: () => false };
}

interface Drawn {
  readonly timetable?: Timetable;
  readonly drawn?: readonly { readonly timetable: Timetable }[];
}

describe("operations", () => {
  it("answer whatever state a day is in", { timeout: 3_600_000 }, async () => {
    const answered = new Map<string, number>();
    for (let seed = FIRST; seed < FIRST + DAYS; seed++) {
      const rng = createRng(seed * 31 + 7);
      const { inForce: _, ...raw } = randomDay(seed, "tiny");
      const day: DayDocuments = { ...raw, happenings: { format: "happenings/1", happenings: [] } };
      const { timetable } = draw(day, { iterations: 20, seed: 1, now: () => 0, lp });
      if (timetable.tasks.length < 4) continue;
      const { id: task } = pick(
        rng,
        timetable.tasks.filter(({ does }) => does !== "clean"),
      );
      const states: Readonly<Record<string, DayDocuments>> = {
        "not drawn up": day,
        pinned: { ...day, inForce: timetable, happenings: { ...day.happenings, happenings: [{ kind: "lock", task }] } },
        "under way": randomMorning(day, timetable, seed * 10, 3),
      };
      for (const [state, asked] of Object.entries(states)) {
        if (checkDay(asked).length > 0) continue;
        const site = pick(rng, asked.network.sites).id;
        const changes = [changeOf(asked, timetable, rng)];
        const wishes = rng.below(2) === 0 ? [{ kind: "share", site, leastPercent: 30, mostPercent: 90 }] : [];
        const requests: readonly (readonly [string, object])[] = [
          ["draw", { iterations: 5 }],
          ["compare", { scenarios: [{ format: "scenario/1", name: "other", changes }], seconds: 1 }],
          ["balance", { seconds: 1, wishes }],
          ["headroom", { seconds: 1 }],
          ["remedies", { seconds: 1, multiple: pick(rng, [1, 1.5, 3]) }],
          ["verify", { timetable }],
          ...(asked.inForce ? (["sheets", "calendar"] as const).map((name) => [name, {}] as const) : []),
          ...(asked.inForce ? [["replay", { runs: 5 }] as const] : []),
          ...(asked.happenings.at === undefined
            ? []
            : (["drift", "repair"] as const).map((name) => [name, { iterations: 5 }] as const)),
        ];
        for (const [name, request] of requests) {
          const what = `${name} of day ${seed}, ${state}, ${JSON.stringify(request)}`;
          let answer: Drawn | undefined;
          try {
            answer = (await operationNamed(name)!.run(asked, request, contextOf())) as Drawn;
          } catch (error) {
            throw new Error(what, { cause: error });
          }
          for (const one of [answer.timetable, ...(answer.drawn ?? []).map((side) => side.timetable)])
            if (one) expect(validateDocument("timetable", one), what).toEqual([]);
          answered.set(name, (answered.get(name) ?? 0) + 1);
        }
      }
    }
    expect(answered.size).toBe(11);
    for (const [name, count] of answered) expect(count, name).toBeGreaterThan(DAYS / 4);
  });
});
