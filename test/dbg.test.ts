import { it } from "vitest";
import { draw, repair } from "../solver/index.js";
import { randomDay } from "./days/random-day.js";
import { randomMorning } from "./days/random-morning.js";
import { loadLp } from "./support/lp.js";
it("dbg", async () => {
  const lp = await loadLp();
  const key = Number(process.env.KEY); const seed = Math.floor(key / 100);
  const day = randomDay(seed, "small");
  const inForce = draw(day, { iterations: 20, seed, now: () => 0, lp }).timetable;
  const morning = randomMorning(day, inForce, key);
  const { timetable, breaches } = repair(morning, { iterations: 12, seed: key, now: () => 0, lp });
  const id = process.env.LOAD!;
  for (const t of inForce.tasks.filter((t) => t.load === id || t.batch === id)) console.log("before", t.id, t.start, t.end, t.unit ?? t.places?.[0]?.unit ?? "", t.van ?? "", JSON.stringify(t.crew));
  for (const t of timetable.tasks.filter((t) => t.load === id|| t.batch === id)) console.log("after", t.id, t.start, t.end, t.unit ?? t.places?.[0]?.unit ?? "", t.van ?? "", JSON.stringify(t.crew));
  console.log(JSON.stringify(timetable.loads.find((l) => l.id === id)), JSON.stringify(morning.happenings), breaches.map((b) => b.message));
  console.log(JSON.stringify(day.catalogue.products.find((p) => p.id === inForce.loads.find((l) => l.id === id)?.product)?.routes.find((r) => r.id === inForce.loads.find((l) => l.id === id)?.route)));
  if (process.env.EVAL) console.log(JSON.stringify(eval(process.env.EVAL), null, 1));
});
