import { describe, expect, it } from "vitest";
import { validateDocument } from "../../../schemas/validate.js";

/** Documents far greater than any day's: what is wrong with them is told without going through all of it. */
describe("a great document that is wrong", () => {
  it("throughout: the first hundred things are told", () => {
    const lines = Array.from({ length: 500_000 }, () => ({ id: 1 }));
    const issues = validateDocument("orders", { format: "orders/1", lines });
    expect(issues).toHaveLength(100);
    expect(issues.map(({ pointer }) => pointer)).toContain("/lines/0/id");
  });

  it("in one entry near the end", () => {
    const line = { id: "a", product: "b", pieces: 1, site: "c", due: "2026-11-27T06:00" };
    const lines = Array.from({ length: 5000 }, (_, i) => (i === 4990 ? { ...line, pieces: "x" } : line));
    const issues = validateDocument("orders", { format: "orders/1", lines });
    expect(issues.map(({ pointer }) => pointer)).toEqual(["/lines/4990/pieces"]);
  });

  it("by names that are not known: each is shown in short", () => {
    const many = Object.fromEntries(Array.from({ length: 200_000 }, (_, i) => [`k${i}`, i]));
    expect(validateDocument("settings", many)).toHaveLength(100);
    const [issue] = validateDocument("orders", [[[[[[many]]]]], "y".repeat(1_000_000)]);
    expect(issue!.message).toMatch(/^\[\[\[\[\[\[\{"k0":0,.{1,60}\.\.\. is not an object/);
  });
});
