import { formatInstant } from "../calendar.js";
import type { BegunLoad, BegunTask } from "../problem/begun.js";
import type { Prepared } from "../problem/prepare.js";
import type { Mode } from "../search/model.js";
import { limitOf } from "../trade/holding.js";
import type { Frozen } from "./freeze.js";

/** Why a way is none for a load that has begun; a later one in the list says more about it. */
export type Hindrance = "other-way" | "unit" | "rest" | "place" | "over";

const SAYS_MORE: readonly Hindrance[] = ["other-way", "unit", "place", "rest", "over"];

/** Of all ways that were looked at, what says the most about why a load cannot go on. */
export class Hindrances {
  private found: { readonly what: Hindrance; readonly task: BegunTask | undefined } | null = null;

  clear(): void {
    this.found = null;
  }

  /** Notes it; null, for whoever gives the way up. */
  note(what: Hindrance, task?: BegunTask): null {
    if (!this.found || SAYS_MORE.indexOf(what) > SAYS_MORE.indexOf(this.found.what)) this.found = { what, task };
    return null;
  }

  /** For people: a sentence. */
  text({ load }: BegunLoad): string {
    const { what, task } = this.found ?? { what: "other-way", task: undefined };
    const unit = task?.task.unit ?? task?.task.places?.[0]?.unit;
    switch (what) {
      case "rest":
        return `${unit} failed during its bake, and no other deck there can finish it.`;
      case "over":
        return task?.cutAt === undefined
          ? "What it has to go on with had to begin before now."
          : `Its bake on ${unit} was cut short, and its route does not let it lie until it can go on.`;
      case "place":
        return `${unit} fails under what stands there, and there is nowhere else at the site to carry it to.`;
      case "unit":
        return `Its ${task?.task.does} was on ${unit}, where its route has no such step.`;
      default:
        return load.handOver === undefined
          ? "No way of the product leads on from what has been done of it."
          : "No way of the product leads on from what has been done of it: the van that it was to ride has left, or goes no more.";
    }
  }
}

/** Of a load whose place failed under it, if it finds no other: that, in a sentence. Undefined: none did. */
export function placeFailed({ tasks }: BegunLoad): string | undefined {
  const last = tasks[tasks.length - 1];
  const unit = last?.task.unit ?? last?.task.places?.[0]?.unit;
  if (last?.cutAt !== undefined)
    return `${unit} failed during its bake, and no other deck at the temperature has room for it soon enough.`;
  if (last?.carriedAt !== undefined && last.end === null)
    return `${unit} fails under what stands there, and there is no room for it elsewhere, nor for what follows at once.`;
  return undefined;
}

/** When the anchor of a way can start at the earliest, were everything else free. */
function earliestAnchor({ operations, holds, anchor }: Mode, mixEnd: number): number {
  let end = mixEnd;
  for (let k = 0; k <= anchor; k++) {
    const { alternatives, from } = operations[k]!;
    const start = Math.max(from, end + holds[k]!.least);
    if (k === anchor) return start;
    let least = Number.POSITIVE_INFINITY;
    for (const { minutes } of alternatives) least = Math.min(least, minutes);
    end = start + least;
  }
  return end;
}

/** Of a load whose dough left the cold (or the mixer) too long ago to be baked within its limit: that, in a sentence. Undefined: it can. */
export function tooLongWarm(
  { index }: Prepared,
  { load }: BegunLoad,
  ways: readonly Pick<Frozen, "made">[],
  mixEnd: number,
  site: string,
): string | undefined {
  const product = index.products.get(load.product);
  const dough = product && index.doughs.get(product.dough);
  let warm = Number.POSITIVE_INFINITY;
  let since = 0;
  for (const { made } of ways) {
    const { warmFrom, warmMinutes, operations } = made.mode;
    if (warmMinutes >= index.horizon) return undefined;
    const out = warmFrom < 0 ? { from: mixEnd, to: mixEnd } : operations[warmFrom]!;
    const minutes = earliestAnchor(made.mode, mixEnd) - out.from;
    if (out.from !== out.to || minutes <= warmMinutes) return undefined;
    if (minutes < warm) [warm, since] = [minutes, out.from];
  }
  if (!dough || warm === Number.POSITIVE_INFINITY) return undefined;
  const { warmMinutes, labels } = limitOf(index.day.settings, dough);
  const at = formatInstant(index.origin + since, index.sites.get(site)!.timeZone).slice(11, 16);
  return `Out of the cold since ${at}, it can be baked ${warm} min after that at the earliest, at most ${warmMinutes} are allowed (${labels.join("; ")}).`;
}
