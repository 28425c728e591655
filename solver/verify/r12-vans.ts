import type { VanTrip } from "../../schemas/index.js";
import { clockText, type Facts, type LoadFact, taskOf } from "./facts.js";
import { namedLimit } from "./r16-holding.js";
import { instantSeconds } from "./time.js";

function positionsOf(facts: Facts, load: LoadFact): number {
  if (load.load.handOver !== "tubs") return load.load.pans;
  return load.load.tubs.length * (facts.tubTypes.get(load.dough.tubType ?? "")?.vanPositions ?? 1);
}

function checkRide(facts: Facts, load: LoadFact): void {
  const { report } = facts;
  const { handOver } = load.load;
  if (handOver === undefined && !taskOf(load, "van")) return;
  const vans = load.tasks.filter(({ task }) => task.does === "van");
  if (handOver === undefined) {
    for (const { task } of vans)
      report.add("R12", "rides-for-nothing", `${task.id}: the load has no hand-over`, [task.id]);
    return;
  }
  if (load.load.scrapped && vans.length === 0) return;
  if (vans.length !== 1) {
    report.add(
      "R12",
      "rides",
      `load ${load.load.id} has ${vans.length} van tasks, it rides once`,
      vans.map(({ task }) => task.id),
    );
    return;
  }
  const { task, start, end } = vans[0]!;
  const trip = facts.trips.get(task.van ?? "");
  if (!trip) {
    report.add("R12", "no-such-trip", `${task.id} rides ${task.van ?? "nothing"}, which does not run`, [task.id]);
    return;
  }
  const { run } = trip;
  const fromSite = load.load.handOver === "baked" ? load.load.bakedAt : load.batch.site;
  if (run.from !== fromSite || run.to !== load.load.deliveredTo)
    report.add(
      "R12",
      "wrong-run",
      `${task.id} rides ${run.id} from ${run.from} to ${run.to}, the load goes from ${fromSite} to ${load.load.deliveredTo}`,
      [task.id],
    );
  if (start !== trip.departs - run.loadMinutes || end !== trip.arrives + run.unloadMinutes) {
    report.add(
      "R12",
      "ride-times",
      `${task.id} is from ${clockText(start)} to ${clockText(end)}, ${trip.id} loads from ${clockText(trip.departs - run.loadMinutes)} and is unloaded by ${clockText(trip.arrives + run.unloadMinutes)}`,
      [task.id],
    );
  }
  if (load.load.handOver === "baked") return;
  const warm = run.loadMinutes + run.unloadMinutes + (run.chilled ? 0 : run.travelMinutes);
  const limits = [load.dough.maxOutOfColdMinutes, namedLimit(facts, load.dough)?.outOfColdMinutes];
  const given = limits.filter((minutes) => minutes !== undefined);
  const limit = given.length > 0 ? Math.min(...given) : undefined;
  if (limit === undefined ? !run.chilled : warm > limit)
    report.add("R12", "out-of-cold", `${task.id} is out of the cold for ${warm} min, ${limit ?? "none"} allowed`, [
      task.id,
    ]);
}

function ridesOf(loads: readonly LoadFact[]): string[] {
  const ids: string[] = [];
  for (const load of loads) for (const { task } of load.tasks) if (task.does === "van") ids.push(task.id);
  return ids;
}

function idsOf(loads: readonly LoadFact[]): Set<string> {
  const ids = new Set<string>();
  for (const { load } of loads) ids.add(load.id);
  return ids;
}

/** What a van is said to carry of each load; of two with one load the first counts. */
function firstShares({ loads }: VanTrip): ReadonlyMap<string, VanTrip["loads"][number]> {
  const shares = new Map<string, VanTrip["loads"][number]>();
  for (const share of loads) if (!shares.has(share.load)) shares.set(share.load, share);
  return shares;
}

function checkTrips(facts: Facts): void {
  const { report } = facts;
  const riding = new Map<string, LoadFact[]>();
  for (const load of facts.loads) {
    for (const { task } of load.tasks)
      if (task.does === "van" && task.van !== undefined) {
        const own = riding.get(task.van);
        if (own) own.push(load);
        else riding.set(task.van, [load]);
      }
  }
  const listed = new Map(facts.timetable.vans.map((van) => [van.id, van]));
  for (const [id, loads] of riding) {
    const trip = facts.trips.get(id);
    if (!trip) continue;
    let used = 0;
    for (const load of loads) used += positionsOf(facts, load);
    const tasks = ridesOf(loads);
    if (used > trip.run.positions)
      report.add("R12", "van-full", `${id} carries ${used} positions, it has ${trip.run.positions}`, tasks);
    const van = listed.get(id);
    if (!van) report.add("R12", "trip-not-listed", `${id} carries loads but is not among the vans`, tasks);
    else {
      if (instantSeconds(van.departs) / 60 !== trip.departs || instantSeconds(van.arrives) / 60 !== trip.arrives)
        report.add(
          "R12",
          "trip-times",
          `${id} departs at ${clockText(trip.departs)} and arrives at ${clockText(trip.arrives)}, the list says otherwise`,
          tasks,
        );
      const shares = firstShares(van);
      for (const load of loads) {
        const share = shares.get(load.load.id);
        if (share?.positions !== positionsOf(facts, load))
          report.add(
            "R12",
            "trip-load",
            `${id} lists ${share?.positions ?? 0} positions for load ${load.load.id}, it takes ${positionsOf(facts, load)}`,
            tasks,
          );
      }
    }
  }
  for (const [id, van] of listed) {
    const ids = idsOf(riding.get(id) ?? []);
    for (const { load } of van.loads) {
      if (!ids.has(load)) report.add("R12", "trip-load", `${id} lists load ${load}, which does not ride it`);
    }
  }
}

/** R12: a load rides one run, ready before it departs, within its room, chilled loads within their time out of the cold. */
export function checkVans(facts: Facts): void {
  for (const load of facts.loads) checkRide(facts, load);
  checkTrips(facts);
}
