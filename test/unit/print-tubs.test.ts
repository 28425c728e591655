import { expect, it } from "vitest";
import { siteText } from "../../services/text/stations.js";
import { drawn } from "../support/drawn.js";

it("a printed fridge lists tubs as tubs, and shaped pans as pans", async () => {
  const { day, timetable } = await drawn("ordinary-day");
  const lines = day.network.sites.flatMap((site) => siteText(day, timetable, site).split("\n"));
  const loads = new Map(timetable.loads.map((load) => [load.id, load]));
  const seen = { tub: 0, pan: 0 };
  for (const { does, load: id, places = [] } of timetable.tasks) {
    if (does !== "retard" || places.length === 0) continue;
    const load = loads.get(id!)!;
    const kind = places[0]!.item.includes("-tub-") ? "tub" : "pan";
    const count = kind === "tub" ? load.tubs.length : load.pans;
    const own = lines.filter((line) => line.includes(`, ${id})`) && line.includes("shelf-"));
    expect(own.length, id).toBeGreaterThan(0);
    for (const line of own) expect(line).toContain(`(${count} ${kind}${count === 1 ? "" : "s"}, ${id})`);
    seen[kind]++;
  }
  expect(seen.tub).toBeGreaterThan(0);
  expect(seen.pan).toBeGreaterThan(0);
}, 60_000);
