import { beforeAll, describe, expect, it } from "vitest";
import type { DayDocuments, Timetable } from "../../../schemas/index.js";
import { operationNamed } from "../../../services/operations/index.js";
import { timetableOf } from "../../../services/operations/timetable-of.js";
import { demoInForce } from "../../support/demo-in-force.js";

/** A timetable that makes what the day's documents know nothing of (another day's, or they were changed since) is refused in words by whatever reads it. */
let day: DayDocuments;
let inForce: Timetable;

beforeAll(async () => {
  ({ day, inForce } = await demoInForce());
}, 120_000);

const less = (what: "product" | "route" | "dough" | "site"): DayDocuments => {
  const { catalogue, network } = structuredClone(day);
  const rye = catalogue.products.filter(({ dough }) => dough === "rye");
  const changed = {
    product: { catalogue: { ...catalogue, products: catalogue.products.filter(({ id }) => id !== "plain-ring") } },
    route: {
      catalogue: {
        ...catalogue,
        products: catalogue.products.map((product) => ({
          ...product,
          routes: product.routes.map((route) => ({ ...route, id: `${route.id}-new` })),
        })),
      },
    },
    dough: {
      catalogue: {
        ...catalogue,
        doughs: catalogue.doughs.filter(({ id }) => id !== "rye"),
        products: catalogue.products.map((product) =>
          rye.includes(product) ? { ...product, dough: "ring" } : product,
        ),
      },
    },
    site: { network: { ...network, sites: network.sites.slice(0, -1) } },
  }[what];
  return { ...day, ...changed, inForce };
};

describe("a timetable of documents that are no more", () => {
  it.each([
    ["product", /^the timetable in force makes plain-ring, which is not in the catalogue any more: put that back/],
    ["route", /makes [a-z-]+ by its route [a-z-]+, which it does not have any more/],
    ["dough", /makes [a-z-]+ of rye dough, which is not in the catalogue any more/],
    ["site", /makes [a-z-]+ at or for bridge-shop, which is not in the network any more/],
  ] as const)("names the %s", (what, text) => {
    const changed = less(what);
    expect(() => timetableOf(changed)).toThrow(text);
    expect(() => timetableOf(changed, inForce)).toThrow(/^the timetable that came with the request makes /);
    for (const name of ["sheets", "calendar", "replay", "drift"])
      expect(() => operationNamed(name)!.run(changed, {}, {} as never), name).toThrow(text);
  });

  it("is the one in force as long as they have all of it", () => {
    expect(timetableOf({ ...day, inForce })).toBe(inForce);
    expect(() => timetableOf(day)).toThrow("there is no timetable in force, and none came with the request");
  });
});
