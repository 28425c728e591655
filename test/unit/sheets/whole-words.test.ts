import { describe, expect, it } from "vitest";
import { partsOf, wrappedLines } from "../../../services/sheets/measure.js";

const whole = (text: string): string[] => partsOf(text).flatMap((part) => (part.isWhole ? [part.text] : []));

describe("what is not broken on paper", () => {
  it("a shelf from its number, a first position from its last, a load's name from its number", () => {
    expect(whole("walk-in: shelf-2 (3), shelf-11 (1-3)")).toEqual(["walk-in:", "shelf-2", "shelf-11", "(1-3)"]);
    expect(whole("rack-row: 23 41-43")).toEqual(["rack-row:", "41-43"]);
    expect(whole("butter-crescent-44")).toEqual(["crescent-44"]);
    expect(whole("hearth-loaf-15")).toEqual(["loaf-15"]);
    expect(whole("Plain words only")).toEqual([]);
  });

  it("says all that it is given", () => {
    for (const text of ["walk-in: shelf-2 (3)", "a  b", "butter-crescent-44 on x/y", ""])
      expect(
        partsOf(text)
          .map((part) => part.text)
          .join(""),
      ).toBe(text);
  });

  it("is measured as it will stand", () => {
    // Room for "23 41-" and not for "23 41-43".
    const room = 17;
    expect(wrappedLines("23 41", room, 12)).toBe(1);
    expect(wrappedLines("23 41-43", room, 12)).toBe(2);
  });
});
