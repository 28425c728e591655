import { beforeAll, describe, expect, it } from "vitest";
import type { DayDocuments, Happening, Task, Timetable } from "../../../schemas/index.js";
import { changesText, driftText } from "../../../services/text/index.js";
import { formatInstant } from "../../../solver/calendar.js";
import { drift, repair } from "../../../solver/index.js";
import { stoodWarm } from "../../../solver/repair/warm.js";
import { sheetsOf } from "../../../solver/sheets/index.js";
import { demoInForce } from "../../support/demo-in-force.js";
import { loadLp } from "../../support/lp.js";

const lp = await loadLp();
let day: DayDocuments;
let inForce: Timetable;
let retard: Task;

beforeAll(async () => {
  ({ day, inForce } = await demoInForce());
  retard = inForce.tasks.find(({ does, places }) => does === "retard" && places?.[0]?.item.includes("-tub-"))!;
}, 120_000);

const later = (instant: string, minutes: number): string =>
  formatInstant(Date.parse(instant) / 60_000 + minutes, "UTC");

function morning(happening: Happening): DayDocuments {
  const happenings = { format: "happenings/1" as const, at: later(retard.start, 120), happenings: [happening] };
  return { ...day, inForce, happenings };
}

describe("dough that is put away late", { timeout: 120_000 }, () => {
  it("is told with how long it stood warm: drift, list of changes, cold chain log", () => {
    const told = morning({ kind: "started", task: retard.id, at: later(retard.start, 80) });
    const found = drift(told);
    expect(found.warm).toMatchObject([{ load: retard.load, task: retard.id, minutes: 80 }]);
    expect(Date.parse(found.warm![0]!.from)).toBe(Date.parse(retard.start));
    const { timetable, changes, breaches } = repair(told, { iterations: 10, seed: 1, now: () => 0, lp });
    expect(breaches).toEqual([]);
    expect(changes.warm).toEqual(found.warm);
    const log = sheetsOf(told, timetable).filter(({ kind }) => kind === "log");
    const texts = [
      driftText(told, inForce, found),
      changesText(told, inForce, timetable, changes),
      log.flatMap(({ notes }) => notes).join("\n"),
    ];
    for (const text of texts) {
      expect(text).toMatch(new RegExp(`${retard.load} is not in the cold from \\d\\d:\\d\\d to \\d\\d:\\d\\d: 80 min`));
      expect(text).toContain("measure its middle before it is used");
      expect(text).toContain("Local food code, equipment manuals and licensed practice come first.");
    }
  });

  it("or is not put away yet; a few minutes are nobody's worry but where the dough bears no more", () => {
    const waits = morning({ kind: "not-started", task: retard.id, notBefore: later(retard.start, 150) });
    expect(stoodWarm(waits, inForce)).toMatchObject([{ load: retard.load, minutes: 150 }]);
    expect(stoodWarm(morning({ kind: "not-started", task: retard.id }), inForce)).toMatchObject([{ minutes: 120 }]);
    const little = morning({ kind: "started", task: retard.id, at: later(retard.start, 7) });
    const bearing = (maxOutOfColdMinutes: number): DayDocuments => ({
      ...little,
      settings: { ...little.settings, limits: [] },
      catalogue: {
        ...little.catalogue,
        doughs: little.catalogue.doughs.map((dough) => ({ ...dough, maxOutOfColdMinutes })),
      },
    });
    expect(stoodWarm(bearing(60), inForce)).toEqual([]);
    expect(stoodWarm(bearing(5), inForce)).toMatchObject([{ minutes: 7, mostMinutes: 5 }]);
    expect(repair(little, { iterations: 10, seed: 1, now: () => 0, lp }).changes).not.toHaveProperty("warm");
  });
});
