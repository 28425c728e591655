import { beforeAll, describe, expect, it } from "vitest";
import type { DayDocuments, Headroom, RemedyReport } from "../../../schemas/index.js";
import { readDayFolder } from "../../../services/day-folder.js";
import { headroomText, remediesText } from "../../../services/text/headroom.js";

let day: DayDocuments;
beforeAll(async () => {
  const read = await readDayFolder("services/demo/ordinary-day");
  if ("issues" in read) throw new Error("the demo day has issues");
  day = read.day;
});

const trial = { multiple: 1, seed: 1, fits: false, lines: 9, linesOnTime: 8, pieces: 90, piecesOnTime: 80 };

function report(tried: RemedyReport["tried"], proposed: number): RemedyReport {
  return {
    format: "remedies/1",
    name: "A day",
    multiple: 1,
    asItIs: { trial, atLeastShort: 0 },
    tried,
    proposed,
    seconds: 20,
  } as unknown as RemedyReport;
}

function remedy(morePiecesOnTime: number): RemedyReport["tried"][number] {
  return {
    text: "one more deck",
    cost: 10,
    fits: false,
    morePiecesOnTime,
    trial: { ...trial, piecesOnTime: 80 + morePiecesOnTime },
  } as unknown as RemedyReport["tried"][number];
}

describe("what would make it fit, in words", () => {
  it("an empty list has no first of the list that helps", () => {
    const text = remediesText(day, report([], 7));
    expect(text).not.toMatch(/None of the 0|first of the list|Each drawn up/);
    expect(text).toContain("None of the 7 changes that were thought of could be drawn up in the time given");
    expect(remediesText(day, report([], 0))).toContain("No change is known that could help.");
  });

  it("the first of the list helps most only where it helps", () => {
    expect(remediesText(day, report([remedy(5), remedy(2)], 7))).toContain("the first of the list helps most.");
    expect(remediesText(day, report([remedy(0), remedy(0)], 7))).toContain("no change drawn up helps.");
    expect(remediesText(day, report([remedy(5)], 7))).toContain(
      "The one change that was drawn up does not make all of it fit; it helps.",
    );
  });
});

describe("how much fits, in words", () => {
  const headroom = {
    format: "headroom/1",
    name: "A day",
    grows: {},
    verdict: "fits",
    fitsAt: 1.5,
    certainlyNotAbove: 1.84,
    isBounded: true,
    atLeastShort: 0,
    trials: [],
    binding: [
      { kind: "fridge-positions", site: "weir-yard", from: "", to: "", text: "shelves", before: 2.13, easedTo: 2.26 },
    ],
    heldBack: [],
    seconds: { firstVerdict: 1, all: 2 },
  } as unknown as Headroom;

  it("what a tenth more would bring does not name a second limit that contradicts the certain one", () => {
    const text = headroomText(day, headroom);
    expect(text).toContain("Above x 1.84 it certainly does not.");
    expect(text).toContain("with a tenth more of it the limit would be 6.1 % higher");
    expect(text).toContain("its limit is x 2.13, the certain one x 1.84");
    const same = headroomText(day, { ...headroom, certainlyNotAbove: 2.13 });
    expect(same).not.toContain("coarser sum");
  });
});
