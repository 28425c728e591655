import { describe, expect, it } from "vitest";
import type { Happening, Happenings } from "../../../schemas/index.js";
import { asItStands, isAmong } from "../../../services/board/logic/as-it-stands.js";

const note = "marked by bench";
const started = { kind: "started", task: "a", at: "2026-11-27T03:00+00:00", note } as Happening;
const running = { kind: "running", task: "a", until: "2026-11-27T03:30+00:00", note } as Happening;
const lost = { kind: "pieces-lost", load: "l", pieces: 5, note } as Happening;
const held = { kind: "hold", task: "c", start: "2026-11-27T05:00+00:00" } as Happening;

function told(at: string | undefined, ...happenings: Happening[]): Happenings {
  return { format: "happenings/1", ...(at === undefined ? {} : { at }), happenings };
}

describe("how things stand on the board", () => {
  it("is what the server says and what the planner adds, whose word counts", () => {
    const own = { kind: "running", task: "a", until: "2026-11-27T04:00+00:00" } as Happening;
    expect(asItStands(told(undefined, held, started, running), [own], undefined).happenings).toEqual([
      held,
      started,
      own,
    ]);
  });

  it("counts pieces lost twice as often as they were, and no mark away that nobody wrote again", () => {
    const own = { kind: "pieces-lost", load: "l", pieces: 5 } as Happening;
    expect(asItStands(told(undefined, lost, lost), [own], undefined).happenings).toEqual([lost, own]);
    const planners = { kind: "pieces-lost", load: "l", pieces: 2 } as Happening;
    expect(asItStands(told(undefined, planners), [own], undefined).happenings).toEqual([planners, own]);
  });

  it("stands at the later of what the server and the screen say", () => {
    const early = "2026-11-27T03:00+00:00";
    const late = "2026-11-27T04:30+01:00";
    expect(asItStands(told(early), [], late).at).toBe(late);
    expect(asItStands(told(late), [], early).at).toBe(late);
    expect(asItStands(told(early), [], undefined).at).toBe(early);
    expect(asItStands(told(undefined), [], undefined)).not.toHaveProperty("at");
  });

  it("knows what is worked in already, whoever said it", () => {
    const { note: _, ...bare } = running as Happening & { note: string };
    expect(isAmong(bare as Happening, [started, running])).toBe(true);
    expect(isAmong(bare as Happening, [started])).toBe(false);
  });
});
