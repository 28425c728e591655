import type { DayDocuments, Happening } from "../../schemas/index.js";

/** Sites at which something happened. */
export function touchedSites(day: DayDocuments): ReadonlySet<string> {
  const { inForce } = day;
  const taskSites = new Map(inForce?.tasks.map((task) => [task.id, task.site]));
  const lineSites = new Map(day.orders.lines.map((line) => [line.id, line.site]));
  const sitesOfLoad = (id: string): (string | undefined)[] =>
    (inForce?.tasks ?? []).filter((task) => task.load === id).map((task) => task.site);
  const sitesOf = (happening: Happening): (string | undefined)[] => {
    switch (happening.kind) {
      case "out-of-service":
      case "slower":
      case "smaller":
        return [happening.unit.split("/")[0]];
      case "absent":
        return [happening.site];
      case "order-added":
        return [happening.line.site];
      case "order-changed":
      case "order-cancelled":
        return [lineSites.get(happening.line)];
      case "van-late": {
        const run = day.network.vanRuns.find(({ id }) => happening.trip.replace(/-\d{8}$/, "") === id);
        return [run?.from, run?.to];
      }
      case "spoiled":
      case "short-batch":
      case "pieces-lost": {
        const load = "load" in happening ? happening.load : undefined;
        const batch = "batch" in happening ? happening.batch : undefined;
        const loads = (inForce?.loads ?? []).filter((one) => one.id === load || one.batch === batch);
        return loads.flatMap((one) => sitesOfLoad(one.id));
      }
      default:
        return [taskSites.get(happening.task)];
    }
  };
  return new Set(day.happenings.happenings.flatMap(sitesOf).filter((site) => site !== undefined));
}
