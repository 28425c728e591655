import { expect, it } from "vitest";
import type { DayDocuments } from "../../../schemas/index.js";
import { repair } from "../../../services/operations/repair.js";

/** What a lane answers, as far as lanes are compared by it. */
function lane(total: number, moved: number, second?: { for: string; moved: number; late: number }, late = 0) {
  const made = (cost: number, moves: number, wanting: number) => ({
    timetable: { cost: { total: cost, parts: [{ for: "late", amount: wanting }] } },
    changes: { counts: { moved: moves } },
  });
  return {
    ...made(total, moved, late),
    breaches: [],
    movesCost: 0,
    ...(second ? { second: { for: second.for, ...made(total, second.moved, second.late) } } : {}),
  };
}

const inForce = { cost: { total: 90, parts: [{ for: "late", amount: 0 }] } };

function second(...lanes: ReturnType<typeof lane>[]) {
  const answer = repair.gather!({ inForce } as unknown as DayDocuments, {}, lanes as never) as ReturnType<typeof lane>;
  return answer.second && `${answer.second.for} ${answer.second.changes.counts.moved}`;
}

it("a second choice is quite different from the repair that is shown, whichever lane found it", () => {
  // Fewer moves than that lane's own nine, but more than the two of the best repair.
  expect(second(lane(100, 2), lane(120, 9, { for: "fewer-moves", moved: 4, late: 0 }))).toBeUndefined();
  expect(second(lane(100, 8), lane(120, 9, { for: "fewer-moves", moved: 5, late: 0 }))).toBeUndefined();
  expect(second(lane(100, 8), lane(120, 9, { for: "fewer-moves", moved: 4, late: 0 }))).toBe("fewer-moves 4");
  expect(second(lane(100, 9, { for: "fewer-moves", moved: 5, late: 0 }), lane(120, 9))).toBe("fewer-moves 5");
  // Less late than that lane's own repair; the best one is not late at all, or as little.
  expect(second(lane(100, 9), lane(120, 9, { for: "less-late", moved: 12, late: 0 }, 30))).toBeUndefined();
  expect(
    second(lane(100, 9, undefined, 10), lane(120, 9, { for: "less-late", moved: 12, late: 8 }, 30)),
  ).toBeUndefined();
  expect(second(lane(100, 9, undefined, 20), lane(120, 9, { for: "less-late", moved: 12, late: 8 }, 30))).toBe(
    "less-late 12",
  );
});
