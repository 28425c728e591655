import { describe, expect, it } from "vitest";
import { cardHeightMm } from "../../../services/sheets/boxes.js";
import type { LaidRow } from "../../../services/sheets/rows.js";

describe("labels to cut out", () => {
  const columns = (["strong", "text", "text", "text", "clock", "text"] as const).map((as, i) => ({
    key: `column-${i}`,
    title: "",
    as,
  }));
  const height = (place: string): number => {
    const cells = ["Ring", "4 pans", "mix-4", place, "05:30", "Wheat"].map((text) => [text]);
    return cardHeightMm([{ kind: "cells", cells } satisfies LaidRow], columns);
  };

  it("are as high as a place of several shelves needs that goes on below", () => {
    const one = height("upright: shelf-1 (1)");
    const four = height("upright: shelf-1 (1), shelf-3 (1), shelf-6 (1), shelf-8 (1)");
    const eight = height(`upright: ${[1, 2, 3, 4, 5, 6, 7, 8].map((n) => `shelf-${n} (1)`).join(", ")}`);
    // A place that has a row of figures to itself takes one row more, 7.9 mm; each line more of it at least 4 mm.
    expect(four - one).toBeGreaterThan(7.9 + 4);
    expect(eight - four).toBeGreaterThan(4);
  });
});
