import { describe, expect, it } from "vitest";
import type { DayDocuments } from "../../../schemas/index.js";
import { outagesAround } from "../../../solver/repair/begun-rows.js";
import { touchedSites } from "../../../solver/repair/locality.js";

/** Ids that begin alike are not one. */
describe("what happens to a unit or a van", () => {
  it("is about it, what it is part of, and its parts, not about one that is called nearly so", () => {
    const span = { from: 0, to: 60 };
    const outages = ["yard/rack-10", "yard/oven-1", "yard/fridge/shelf-1"].map((unit) => ({ unit, ...span }));
    const shrinkages = [{ unit: "yard/rack-1", positions: 2, ...span, shutFrom: 0 }];
    const around = (unit: string | undefined): string[] =>
      outagesAround({ outages, shrinkages }, unit).map(({ unit: other }) => other);
    expect(around("yard/rack-1")).toEqual(["yard/rack-1"]);
    expect(around("yard/rack-10")).toEqual(["yard/rack-10"]);
    expect(around("yard/oven-1/deck-1")).toEqual(["yard/oven-1"]);
    expect(around("yard/oven-11/deck-1")).toEqual([]);
    expect(around("yard/fridge")).toEqual(["yard/fridge/shelf-1"]);
    expect(around("yard/fridge/shelf-10")).toEqual([]);
    expect(around(undefined)).toEqual([]);
  });

  it("touches the sites of the van's own run", () => {
    const vanRuns = [
      { id: "quay", from: "yard", to: "quay" },
      { id: "quay-late", from: "shop", to: "harbour" },
    ];
    const late = (trip: string) => ({
      network: { vanRuns },
      orders: { lines: [] },
      happenings: { happenings: [{ kind: "van-late", trip, minutes: 5 }] },
    });
    const touched = (trip: string): string[] => [...touchedSites(late(trip) as unknown as DayDocuments)].sort();
    expect(touched("quay-20261127")).toEqual(["quay", "yard"]);
    expect(touched("quay-late-20261127")).toEqual(["harbour", "shop"]);
  });
});
