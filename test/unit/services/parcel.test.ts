import { describe, expect, it } from "vitest";
import type { DayDocuments } from "../../../schemas/index.js";
import { dayOfTexts } from "../../../services/days/texts.js";
import { Received, Sent } from "../../../services/solving/parcel.js";

const day = (n: number): DayDocuments =>
  ({ network: { n }, catalogue: { n }, orders: { n }, happenings: { n }, settings: { n } }) as unknown as DayDocuments;

describe("a day on its way to a solver thread", () => {
  it("is what was sent, and what was sent before is the same object again", () => {
    const sent = new Sent();
    const received = new Received();
    const first = day(1);
    const there = received.unpack(structuredClone(sent.pack(first)));
    expect(there).toEqual(first);
    const next = { ...first, happenings: day(2).happenings };
    const parcel = structuredClone(sent.pack(next));
    expect(Object.values(parcel.documents).filter(({ content }) => content !== undefined)).toHaveLength(1);
    const again = received.unpack(parcel);
    expect(again).toEqual(next);
    expect(again.network).toBe(there.network);
    expect(again.happenings).not.toBe(there.happenings);
  });

  it("is sent again when too many others came between", () => {
    const sent = new Sent();
    const received = new Received();
    const days = Array.from({ length: 9 }, (_, n) => day(n));
    for (const _ of [1, 2, 3])
      for (const one of days) expect(received.unpack(structuredClone(sent.pack(one)))).toEqual(one);
    expect(() => received.unpack({ documents: { network: { number: -1 } }, forget: [] })).toThrow(/never sent/);
  });

  it("leaves out a document that is not there", () => {
    const { inForce, ...rest } = { ...day(1), inForce: undefined };
    expect(inForce).toBeUndefined();
    expect(new Received().unpack(new Sent().pack({ ...rest, inForce: undefined } as never))).toEqual(rest);
  });
});

describe("documents by their text", () => {
  it("are the same objects for the same text, until too much came between", () => {
    const texts = (n: number) => ({ network: `{"n":${n},"long":"${"x".repeat(1_000_000)}"}`, timetable: `{"n":${n}}` });
    const first = dayOfTexts(texts(1));
    expect(dayOfTexts(texts(1)).network).toBe(first.network);
    expect(dayOfTexts(texts(1)).inForce).toBe(first.inForce);
    expect("timetable" in first).toBe(false);
    for (let n = 2; n < 12; n++) dayOfTexts(texts(n));
    expect(dayOfTexts(texts(1)).network).not.toBe(first.network);
    expect(dayOfTexts(texts(1))).toEqual(first);
  });
});
