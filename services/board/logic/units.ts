import type { Task } from "../../../schemas/index.js";
import type { Plan } from "./plan.js";

/** Units of the same kind at the same site on which a worked task could be done, as references. */
export function unitsFor(plan: Plan, task: Task): string[] {
  const site = plan.sites.get(task.site);
  if (!site) return [];
  const ref = (unit: { id: string }): string => `${site.id}/${unit.id}`;
  switch (task.does) {
    case "mix":
      return site.mixers.map(ref);
    case "boil":
      return site.kettles.map(ref);
    case "shape":
    case "top":
    case "pack":
      return site.benches.map(ref);
    case "bake":
      return site.ovens.flatMap((oven) => oven.decks.map((deck) => `${site.id}/${oven.id}/${deck.id}`));
    default:
      return [];
  }
}
