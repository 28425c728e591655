import { beforeAll, describe, expect, it } from "vitest";
import type { Catalogue, DayDocuments, Network, Product, Timetable } from "../../../schemas/index.js";
import { validateDocument } from "../../../schemas/validate.js";
import { checkDay } from "../../../solver/check/index.js";
import { draw, drift, repair, verify } from "../../../solver/index.js";
import { demoInForce } from "../../support/demo-in-force.js";
import { loadLp } from "../../support/lp.js";

/** Somebody changes the catalogue or the network while a timetable is in force: what is mixed goes on as it was mixed, the rest is made as they say now. */
const lp = await loadLp();
const AFTERNOON = "2026-11-26T16:00Z";
const NIGHT = "2026-11-27T02:00Z";
let day: DayDocuments;
let inForce: Timetable;

beforeAll(async () => {
  ({ day, inForce } = await demoInForce());
}, 120_000);

type Writable<T> = { -readonly [K in keyof T]: T[K] extends object ? Writable<T[K]> : T[K] };

function changed(
  at: string | undefined,
  change: (catalogue: Writable<Catalogue>, network: Writable<Network>) => void,
): DayDocuments {
  const catalogue = structuredClone(day.catalogue) as Writable<Catalogue>;
  const network = structuredClone(day.network) as Writable<Network>;
  change(catalogue, network);
  const happenings = { format: "happenings/1" as const, ...(at === undefined ? {} : { at }), happenings: [] };
  return { ...day, catalogue, network, inForce, happenings };
}

function mended(told: DayDocuments): Timetable {
  expect(checkDay(told)).toEqual([]);
  drift(told);
  const { timetable, breaches } = repair(told, { iterations: 40, seed: 1, now: () => 0, lp, onlyOne: true });
  expect(breaches).toEqual([]);
  expect(validateDocument("timetable", timetable)).toEqual([]);
  return timetable;
}

const isMixed = (batch: string, at: string): boolean =>
  inForce.tasks.some((task) => task.does === "mix" && task.batch === batch && Date.parse(task.start) < Date.parse(at));

describe("a piece that weighs more since", { timeout: 120_000 }, () => {
  it.each([AFTERNOON, "2026-11-27T01:00Z"])(
    "at %s: dough that is mixed stays as it is, the rest is scaled anew",
    (at) => {
      let asMixed = 0;
      let anew = 0;
      for (const id of ["plain-ring", "milk-roll", "tin-loaf", "choc-cookie"]) {
        const told = changed(at, ({ products }) => {
          products.find((product) => product.id === id)!.pieceG *= 1.1;
        });
        const { pieceG, dividerLossPercent = 0 } = told.catalogue.products.find(
          (product) => product.id === id,
        ) as Product;
        for (const load of mended(told).loads) {
          if (load.product !== id) continue;
          const before = inForce.loads.find((one) => one.id === load.id);
          if (before && isMixed(before.batch, at)) {
            expect(load.doughG).toBe(before.doughG);
            asMixed++;
          } else {
            expect(Math.abs(load.doughG - (load.pieces * pieceG) / (1 - dividerLossPercent / 100))).toBeLessThan(1);
            anew++;
          }
        }
      }
      expect(asMixed).toBeGreaterThan(3);
      expect(anew).toBeGreaterThan(0);
    },
  );
});

describe("what is taken away while it is in use", { timeout: 120_000 }, () => {
  it.each(["spiral-1", "oven-2"])("%s: the day goes on without it", (id) => {
    const told = changed(NIGHT, (_, { sites }) => {
      const [site] = sites;
      site!.mixers = site!.mixers.filter((mixer) => mixer.id !== id);
      site!.ovens = site!.ovens.filter((oven) => oven.id !== id);
    });
    const after = mended(told).tasks.filter(({ start }) => Date.parse(start) >= Date.parse(NIGHT));
    expect(after.some(({ unit }) => unit?.startsWith(`weir-yard/${id}`))).toBe(false);
  });

  it("a product or route of what has begun is asked back, with what else there is to do", () => {
    const lines = day.orders.lines.filter(({ product }) => product !== "plain-ring");
    const gone = {
      ...changed(AFTERNOON, (catalogue) => {
        catalogue.products = catalogue.products.filter(({ id }) => id !== "plain-ring");
      }),
      orders: { ...day.orders, lines },
    };
    expect(checkDay(gone)).toEqual([
      expect.objectContaining({
        code: "unknown-product",
        document: "timetable",
        pointer: expect.stringMatching(/^\/loads\/\d+\/product$/),
        message: "Work has begun on plain-ring, which is not in the catalogue any more.",
      }),
    ]);
    const renamed = changed(AFTERNOON, ({ products }) => {
      for (const route of products.find(({ id }) => id === "plain-ring")!.routes) route.id += "-new";
    });
    expect(checkDay(renamed).map(({ code }) => code)).toEqual(["unknown-route"]);
    const short = changed(NIGHT, ({ products }) => {
      for (const route of products.find(({ id }) => id === "plain-ring")!.routes)
        route.steps = route.steps.filter(({ does }) => does !== "temper");
    });
    const steps = checkDay(short);
    expect(new Set(steps.map(({ code }) => code))).toEqual(new Set(["unknown-step"]));
    expect(steps[0]!.message).toMatch(
      /^Work has begun on plain-ring by its route .*, which does not temper any more\.$/,
    );
    // Before anything of it has begun nobody misses it.
    const early = { ...gone, happenings: { ...gone.happenings, at: "2026-11-26T12:30Z" } };
    expect(mended(early).loads.some(({ product }) => product === "plain-ring")).toBe(false);
  });

  it("a hotter bake is baked as hot as it was set where it is in the oven", () => {
    for (const id of ["walnut-loaf", "rye-loaf", "butter-crescent", "tin-loaf"]) {
      const told = changed(NIGHT, ({ products }) => {
        for (const { steps } of products.find((product) => product.id === id)!.routes)
          for (const step of steps) if (step.does === "bake") step.tempC += 10;
      });
      for (const task of mended(told).tasks) {
        const before = inForce.tasks.find((one) => one.id === task.id);
        if (task.does === "bake" && before && Date.parse(before.start) < Date.parse(NIGHT))
          expect(task.tempC).toBe(before.tempC);
      }
    }
  });
});

describe("a locked task that the documents leave no room for", { timeout: 120_000 }, () => {
  it("is let go when the day is drawn up anew, and named; the other locks are kept", () => {
    const bake = (product: string): string =>
      inForce.tasks.find(
        (task) => task.does === "bake" && inForce.loads.find(({ id }) => id === task.load)!.product === product,
      )!.id;
    const locks = ["plain-ring", "rye-loaf", "oat-cookie"].map(bake);
    const lock = (told: DayDocuments): DayDocuments => ({
      ...told,
      happenings: { format: "happenings/1", happenings: locks.map((task) => ({ kind: "lock", task })) },
    });
    const heavier = changed(undefined, ({ products }) => {
      products.find(({ id }) => id === "plain-ring")!.pieceG *= 1.1;
    });
    const slower = changed(undefined, ({ products }) => {
      for (const { steps } of products.find(({ id }) => id === "rye-loaf")!.routes)
        for (const step of steps) if (step.does === "bake") step.minutes += 3;
    });
    for (const [told, letGo] of [
      [heavier, [locks[0]!]],
      [slower, [locks[1]!]],
      [changed(undefined, () => {}), undefined],
    ] as const) {
      const asked = lock(told);
      expect(checkDay(asked)).toEqual([]);
      const drawn = draw(asked, { iterations: 20, seed: 1, now: () => 0, lp });
      expect(drawn.breaches).toEqual([]);
      expect(drawn.givenUp).toEqual(letGo);
      const { happenings = asked.happenings } = drawn;
      expect(happenings.happenings).toHaveLength(locks.length - (letGo?.length ?? 0));
      expect(verify({ ...asked, happenings }, drawn.timetable)).toEqual([]);
      for (const id of locks)
        if (!letGo?.includes(id))
          expect(drawn.timetable.tasks.find((task) => task.id === id)).toMatchObject({
            start: inForce.tasks.find((task) => task.id === id)!.start,
          });
    }
  });
});
