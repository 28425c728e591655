import { expect, it } from "vitest";
import type { DayDocuments, Happening } from "../../../schemas/index.js";
import { checkDay } from "../../../solver/check/index.js";
import { draw, headroom, remedies } from "../../../solver/index.js";
import { randomDay } from "../../days/random-day.js";
import { randomMorning } from "../../days/random-morning.js";
import { loadLp } from "../../support/lp.js";

const lp = await loadLp();

/** So many ms a look: the same course every time. */
function clock(): () => number {
  let ms = 0;
  return () => {
    ms += 40;
    return ms;
  };
}

it("a day that is under way or has pins is asked about as if it were planned anew, with what was told of units and orders", {
  timeout: 120_000,
}, () => {
  let asked = 0;
  let counted = 0;
  for (let seed = 1; seed <= 14; seed++) {
    const { inForce: _, ...raw } = randomDay(seed, "tiny");
    const day: DayDocuments = { ...raw, happenings: { format: "happenings/1", happenings: [] } };
    const { timetable } = draw(day, { iterations: 20, seed: 1, now: () => 0, lp });
    if (timetable.tasks.length < 4) continue;
    const news = randomMorning(day, timetable, seed * 10, 3);
    const lock: Happening = { kind: "lock", task: timetable.tasks.find(({ does }) => does === "bake")!.id };
    const pinned: DayDocuments = {
      ...day,
      inForce: timetable,
      happenings: { format: "happenings/1", happenings: [lock] },
    };
    for (const morning of [news, pinned]) {
      if (checkDay(morning).length > 0) continue;
      const told = morning.happenings.happenings.filter((one) =>
        /^(out-of-service|smaller|slower|absent|van-late|order-)/.test(one.kind),
      );
      const fresh: DayDocuments = {
        ...day,
        catalogue: morning.catalogue,
        happenings: { format: "happenings/1", happenings: told },
      };
      const request = { seconds: 1, seed: 1 };
      const found = headroom(morning, request, { lp, now: clock() });
      expect(found, `seed ${seed}`).toEqual(headroom(fresh, request, { lp, now: clock() }));
      const report = remedies(morning, { ...request, multiple: 2 }, { lp, now: clock() });
      expect(report, `seed ${seed}`).toEqual(remedies(fresh, { ...request, multiple: 2 }, { lp, now: clock() }));
      asked++;
      if (told.length > 0) counted++;
    }
  }
  expect(asked).toBeGreaterThan(15);
  expect(counted).toBeGreaterThan(4);
});
