import { describe, expect, it } from "vitest";
import { shortNames } from "../../../services/board/logic/names.js";

describe("shorter names", () => {
  it("cut long words first, then keep the first letters of the first and last words", () => {
    expect(shortNames("Chocolate cookie")).toEqual(["Choc. cook.", "Cho co", "Ch co"]);
    expect(shortNames("Tin loaf")).toEqual(["Tin lo", "Ti lo"]);
    expect(shortNames("Laminated")).toEqual(["Lami."]);
  });

  it("are each shorter than the one before, and none for a name that is short", () => {
    expect(shortNames("Baton")).toEqual([]);
    for (const name of ["Plain ring", "Poppy ring of the day", "A b", "Onion  ring"]) {
      const lengths = [name, ...shortNames(name)].map((way) => way.length);
      for (let i = 1; i < lengths.length; i++) expect(lengths[i], name).toBeLessThan(lengths[i - 1]!);
    }
  });
});
