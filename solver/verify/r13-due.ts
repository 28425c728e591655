import { clockText, type Facts, readyTimes } from "./facts.js";
import { whenMinute } from "./time.js";

const FRESH_WITHIN_MINUTES = 720;

/** R13: never ready earlier than the freshness window allows. (Lateness and what is said of it: checkOutcomes.) */
export function checkFreshness(facts: Facts): void {
  const lines = new Map(facts.day.orders.lines.map((line) => [line.id, line]));
  for (const load of facts.loads) {
    const { finished } = readyTimes(load);
    for (const { line: id } of load.load.orders) {
      const line = lines.get(id);
      const zone = facts.sites.get(line?.site ?? "")?.timeZone;
      if (!line || zone === undefined) continue;
      const within = line.freshWithinMinutes ?? facts.day.settings.freshWithinMinutes ?? FRESH_WITHIN_MINUTES;
      const earliest = whenMinute(line.due, zone) - within;
      if (finished < earliest)
        facts.report.add(
          "R13",
          "too-early",
          `load ${load.load.id} is finished at ${clockText(finished)}, for order ${id} not before ${clockText(earliest)}`,
          // The task that ends it, not its ride: when that is over, so is the question.
          load.tasks
            .filter(({ task }) => task.does !== "van")
            .slice(-1)
            .map(({ task }) => task.id),
        );
    }
  }
}
