import { describe, expect, it } from "vitest";
import { markOf } from "../../../solver/search/model-mark.js";
import { coreModel } from "../../bench/core/adapter.js";
import { heldOut } from "../../bench/core/generate.js";

describe("the mark of a model", () => {
  const instance = heldOut("M", 7);
  const [first, ...rest] = instance.loads;

  it("is the same for the same model", () => {
    expect(markOf(coreModel(structuredClone(instance)))).toBe(markOf(coreModel(instance)));
  });

  it.each([
    ["a load is due a minute later", { ...instance, loads: [{ ...first!, due: first!.due + 1 }, ...rest] }],
    ["a load bakes a minute longer", { ...instance, loads: [{ ...first!, bakeMin: first!.bakeMin + 1 }, ...rest] }],
    ["a load may wait longer", { ...instance, loads: [{ ...first!, proofMax: first!.proofMax + 1 }, ...rest] }],
    ["loads come in another order", { ...instance, loads: [...rest, first!] }],
    ["a shelf has one tub less", { ...instance, shelfTubs: instance.shelfTubs - 1 }],
    ["a mixer is faster", { ...instance, batches: instance.batches.map((b) => ({ ...b, mixMin: b.mixMin - 1 })) }],
  ])("is another where %s", (_, other) => {
    expect(markOf(coreModel(other))).not.toBe(markOf(coreModel(instance)));
  });
});
