import type { DayDocuments, Happening, Timetable } from "../../schemas/index.js";
import { createRng, type Rng } from "../../solver/rng.js";

function instant(epochMs: number): string {
  return new Date(epochMs).toISOString().replace(/:\d\d\.\d\d\dZ$/, ":00Z");
}

function pick<T>(rng: Rng, items: readonly T[]): T | undefined {
  return items.length > 0 ? items[rng.below(items.length)] : undefined;
}

/** Units of a day, with parts. */
function units(day: DayDocuments): string[] {
  return day.network.sites.flatMap((site) => [
    ...[...site.mixers, ...site.benches, ...site.proofers, ...site.kettles, ...site.racks].map(
      ({ id }) => `${site.id}/${id}`,
    ),
    ...site.ovens.flatMap((oven) => [
      `${site.id}/${oven.id}`,
      ...oven.decks.map((deck) => `${site.id}/${oven.id}/${deck.id}`),
    ]),
    ...site.fridges.flatMap((fridge) => [
      `${site.id}/${fridge.id}`,
      ...fridge.shelves.map((shelf) => `${site.id}/${fridge.id}/${shelf.id}`),
    ]),
  ]);
}

/** One happening of a kind drawn at random; null when the plan has nothing for it. */
function happening(day: DayDocuments, inForce: Timetable, atMs: number, rng: Rng): Happening | null {
  const minutes = (n: number): string => instant(atMs + n * 60_000);
  // Half the time a unit that is in use just then.
  const inUse = inForce.tasks
    .filter((task) => Date.parse(task.start) < atMs && Date.parse(task.end) > atMs)
    .flatMap((task) => task.unit ?? task.places?.[0]?.unit ?? []);
  const unit = (rng.below(2) === 0 ? pick(rng, inUse) : undefined) ?? pick(rng, units(day))!;
  const { tasks } = inForce;
  const worked = tasks.filter((task) => ["mix", "shape", "boil", "top", "bake", "pack"].includes(task.does));
  const near = worked.filter((task) => Math.abs(Date.parse(task.start) - atMs) < 90 * 60_000);
  const begun = near.filter((task) => Date.parse(task.start) < atMs);
  const site = pick(rng, day.network.sites)!;
  switch (rng.below(14)) {
    case 0:
    case 1:
    case 2:
      return {
        kind: "out-of-service",
        unit,
        from: minutes(rng.below(120) - 40),
        ...(rng.below(4) === 0 ? {} : { to: minutes(100 + rng.below(240)) }),
      };
    case 3: {
      const group = pick(rng, site.crew);
      if (!group) return null;
      return {
        kind: "absent",
        site: site.id,
        crew: group.id,
        heads: 1,
        from: minutes(-30),
        to: minutes(30 + rng.below(300)),
      };
    }
    case 4: {
      const task = pick(rng, begun);
      return task ? { kind: "started", task: task.id, at: minutes(-1 - rng.below(10)) } : null;
    }
    case 5: {
      const task = pick(
        rng,
        begun.filter((one) => Date.parse(one.start) < atMs - 2 * 60_000),
      );
      return task ? { kind: "finished", task: task.id, at: minutes(-rng.below(2)) } : null;
    }
    case 6: {
      const task = pick(rng, begun);
      return task ? { kind: "running", task: task.id, until: minutes(1 + rng.below(25)) } : null;
    }
    case 7: {
      const task = pick(rng, begun);
      return task
        ? { kind: "not-started", task: task.id, ...(rng.below(2) ? { notBefore: minutes(rng.below(20)) } : {}) }
        : null;
    }
    case 8: {
      const batch = pick(rng, inForce.batches);
      const load = pick(rng, inForce.loads);
      if (!batch || !load) return null;
      return rng.below(2) ? { kind: "spoiled", batch: batch.id } : { kind: "spoiled", load: load.id };
    }
    case 9: {
      const load = pick(rng, inForce.loads);
      const batch = pick(rng, inForce.batches);
      if (!load || !batch) return null;
      return rng.below(2)
        ? { kind: "pieces-lost", load: load.id, pieces: 1 + rng.below(load.pieces) }
        : { kind: "short-batch", batch: batch.id, missingG: 1 + rng.below(Math.ceil(batch.massG / 3)) };
    }
    case 10: {
      const line = pick(rng, day.orders.lines);
      if (!line) return null;
      const kind = rng.below(3);
      if (kind === 0) return { kind: "order-cancelled", line: line.id };
      if (kind === 1) return { kind: "order-changed", line: line.id, pieces: 1 + rng.below(2 * line.pieces) };
      return {
        kind: "order-added",
        line: { ...line, id: `${line.id.slice(0, 40)}-more-${1 + rng.below(1_000_000)}`, pieces: 1 + rng.below(24) },
      };
    }
    case 11: {
      const van = pick(rng, inForce.vans);
      if (!van) return null;
      // Now and then it hardly comes at all.
      const late = rng.below(48);
      return { kind: "van-late", trip: van.id, minutes: late < 40 ? 1 + late : 120 * (late - 38) };
    }
    case 12: {
      const parts = units(day).filter((one) => /bench|deck|shelf|proofer|rack/.test(one));
      const small = pick(rng, parts);
      return small ? { kind: "smaller", unit: small, positions: rng.below(5), from: minutes(rng.below(60)) } : null;
    }
    default: {
      const slow = pick(
        rng,
        units(day).filter((one) => /mixer|bench|kettle|deck/.test(one)),
      );
      return slow ? { kind: "slower", unit: slow, percent: 110 + rng.below(100) } : null;
    }
  }
}

/** What becomes of a bake whose deck fails, by chance. */
function withInterruptions(day: DayDocuments, rng: Rng): DayDocuments["catalogue"] {
  return {
    ...day.catalogue,
    products: day.catalogue.products.map((product) => {
      const rule = pick(rng, ["scrap", "finish-elsewhere", "finish-there"] as const)!;
      const interruptMinutes = rng.below(30);
      return {
        ...product,
        routes: product.routes.map((route) => ({
          ...route,
          steps: route.steps.map((step) =>
            step.does === "bake" ? { ...step, ifInterrupted: rule, interruptMinutes } : step,
          ),
        })),
      };
    }),
  };
}

/** The morning of a drawn day: an instant inside it and up to `most` things that happened. */
export function randomMorning(day: DayDocuments, inForce: Timetable, seed: number, most = 3): DayDocuments {
  const rng = createRng(seed);
  const from = Date.parse(inForce.window.from);
  const to = Date.parse(inForce.window.to);
  const starts = inForce.tasks.map((task) => Date.parse(task.start));
  // Most of the time somewhere among the tasks, else anywhere in the window.
  const middle = pick(rng, starts);
  const atMs =
    middle === undefined || rng.below(8) === 0
      ? from + 60_000 * rng.below((to - from) / 60_000)
      : Math.min(to, Math.max(from, middle + 60_000 * (rng.below(31) - 10)));
  const happenings: Happening[] = [...day.happenings.happenings.filter(({ kind }) => kind !== "lock")];
  const told = new Set<string>();
  for (let i = 0, count = rng.below(most + 1); i < count; i++) {
    const one = happening(day, inForce, atMs, rng);
    if (!one) continue;
    const key = JSON.stringify("task" in one ? one.task : "line" in one ? one.line : one);
    if (told.has(key)) continue;
    told.add(key);
    happenings.push(one);
  }
  const catalogue = withInterruptions(day, rng);
  return { ...day, catalogue, inForce, happenings: { format: "happenings/1", at: instant(atMs), happenings } };
}
