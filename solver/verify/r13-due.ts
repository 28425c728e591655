import { clockText, type Facts } from "./facts.js";

const FRESH_WITHIN_MINUTES = 720;

/** R13: never ready earlier than the freshness window allows. (Lateness and what is said of it: checkOutcomes.) */
export function checkFreshness(facts: Facts): void {
  for (const load of facts.loads) {
    const { finished } = load;
    for (const { line: id } of load.load.orders) {
      const fact = facts.lines.get(id);
      if (fact?.due === undefined) continue;
      const { line, due } = fact;
      const within = line.freshWithinMinutes ?? facts.day.settings.freshWithinMinutes ?? FRESH_WITHIN_MINUTES;
      const earliest = due - within;
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
